// The checks on the page: from what is kept to what is shown, and what is found beside a reading.

const data = JSON.parse(document.getElementById("data").textContent);
const kept = keeper(data);
const checkOf = (id) => data.checks.find((check) => check.phase === phaseOf(id));

function phaseOf(id) {
  return id.replace(/^hourly-\d+$/, "hourly");
}

function fresh() {
  const state = {
    form: data.form, registration: data.registration, made_at: data.made_at,
    pilot: data.pilot || "", hours: 1, ticks: {}, checks: {}, exported: {},
  };
  ["level", "hourly-1", "leaving"].forEach((id) => withLevel(state, id, data.level));
  return state;
}

function withLevel(state, id, level) {
  entryOf(state, id).values.level = level === null ? "" : String(level);
}

// What is typed of one check: day, clock, values by field, and the instant it is reckoned from.
function entryOf(state, id) {
  if (!state.checks[id]) { state.checks[id] = { day: "", clock: "", anchor: null, values: {} }; }
  return state.checks[id];
}

// The checks of a sheet in the order of the flight.
function idsOf(state) {
  const ids = [];
  data.checks.forEach((check) => {
    if (check.phase !== "hourly") { ids.push(check.phase); }
    for (let hour = 1; check.phase === "hourly" && hour <= state.hours; hour += 1) { ids.push("hourly-" + hour); }
  });
  return ids;
}

function titleOf(id) {
  const hour = /^hourly-(\d+)$/.exec(id);
  return hour === null ? checkOf(id).title : "Hourly check " + hour[1];
}

function takenOf(state, id) {
  const entry = entryOf(state, id);
  return instantOf(entry.day, entry.clock);
}

// Whether anything was typed; a level that stands there from the start is not.
function isStarted(state, id) {
  const entry = entryOf(state, id);
  return entry.clock.trim() !== "" || checkOf(id).fields.some(
    (name) => name !== "level" && (entry.values[name] || "").trim() !== "");
}

function readOf(state, id) {
  const entry = entryOf(state, id);
  const read = {};
  checkOf(id).fields.forEach((name) => {
    read[name] = readField(data.fields[name], entry.values[name] || "");
  });
  return read;
}

function valuesOf(read) {
  const values = {};
  Object.keys(data.fields).forEach((name) => { values[name] = read[name] ? read[name].value : null; });
  return values;
}

// What keeps a check out of the file, in words; empty when it is whole.
function lacksOf(state, id) {
  const read = readOf(state, id);
  const lacks = checkOf(id).needed.filter((name) => read[name].text === "").map((name) => data.prompts[name]);
  if (takenOf(state, id) === null) { lacks.unshift(data.prompts.taken_at); }
  const height = read.gnss_height_ft;
  if (height && (height.text === "") !== (read.gnss_kind.text === "")) {
    lacks.push(data.prompts[height.text === "" ? "gnss_height_ft" : "gnss_kind"]);
  }
  Object.keys(read).filter((name) => read[name].fault !== "").forEach(
    (name) => lacks.push(data.prompts[name] + ": " + read[name].fault));
  return lacks;
}

// The whole checks of a sheet as rows of the file.
function rowsOf(state) {
  const pilot = readField(data.fields.pilot, state.pilot);
  return idsOf(state).filter((id) => isStarted(state, id) && lacksOf(state, id).length === 0).map((id) => {
    const row = { airframe: data.registration, taken_at: instantText(takenOf(state, id)), phase: phaseOf(id) };
    const read = readOf(state, id);
    Object.keys(read).forEach((name) => { row[name] = read[name].text; });
    row.pilot = pilot.fault === "" ? pilot.text : "";
    return row;
  });
}

function fileOf(state) {
  return csvText(data.columns, data.free_text, rowsOf(state));
}

function made(tag, text, name) {
  const element = document.createElement(tag);
  if (text) { element.textContent = shown(text); }
  if (name) { element.className = name; }
  return element;
}

// One comparison for the page: the numbers, and when beyond its limit what to do and say.
function resultOf(each, phase, onGround) {
  const box = made("div", "", each.beyond ? "result over" : "result");
  box.appendChild(made("p", inWords(each), each.beyond ? "beyond" : ""));
  if (!each.beyond) { return box; }
  box.appendChild(made("p", "Means: " + data.means[each.what][0] + "."));
  box.appendChild(made("p", "Do: " + data.means[each.what][1] + "."));
  const keys = phase === "before-entry" && each.what !== "standby" ? ["before-entry"] : [];
  if (!onGround && data.contingency[each.what]) { keys.push(data.contingency[each.what]); }
  keys.forEach((key) => box.appendChild(helpOf(data.contingencies[key])));
  return box;
}

// What stands once below everything that is beyond its limit.
function afterFault(onGround) {
  const box = made("div", "", "result");
  if (!onGround) { box.appendChild(made("p", "Note for the log: " + data.notes.join("; ") + ".")); }
  box.appendChild(made("p", data.caution));
  return box;
}

function helpOf(contingency) {
  const box = made("div", "", "help");
  box.appendChild(made("p", contingency.when));
  const list = box.appendChild(made("ol"));
  contingency.do.forEach((step) => list.appendChild(made("li", step)));
  if (contingency.say) {
    const say = box.appendChild(made("p", "Words: ", "say"));
    say.appendChild(made("q", contingency.say));
  }
  box.appendChild(made("p", contingency.cited, "soft"));
  return box;
}

// What is to be said of a check's time.
function timeNotes(state, id, now) {
  const at = takenOf(state, id);
  const entry = entryOf(state, id);
  if (at === null) { return entry.clock.trim() === "" ? [] : ["write a time such as 0905, and a day such as 2027-03-14"]; }
  const notes = [instantText(at).replace("T", " ")];
  const ids = idsOf(state);
  const others = ids.filter((other) => other !== id && takenOf(state, other) !== null);
  const late = others.find((other) => ids.indexOf(other) < ids.indexOf(id) && takenOf(state, other) > at);
  if (late) { notes.push("earlier than “" + titleOf(late) + "”: look at day and time"); }
  if (others.some((other) => phaseOf(other) === phaseOf(id) && takenOf(state, other) === at)) {
    notes.push("the same time as another hourly check: the log takes one of them");
  }
  if (at > now + data.future_min * MINUTE_MS) { notes.push("later than this device’s clock"); }
  const before = state.exported[id];
  if (before && before !== instantText(at)) {
    notes.push("in a saved file it was " + before + ": where that file was imported, strike the earlier entry out, " +
      "for the log takes this for another check");
  }
  return notes;
}

// What is to be said of one reading: why it is refused, what it was read as, or that it is doubtful.
function fieldNote(name, read, known, onGround, settled) {
  if (!settled) { return ""; }
  if (read.fault !== "") { return read.fault; }
  if (read.value === null || data.fields[name].type === "text") { return ""; }
  if (name === "qnh_hpa") { return read.inches ? "= " + read.text + " hPa" : ""; }
  const altitude = /_ft$/.test(name) && name !== "field_elevation_ft" && name !== "gnss_height_ft";
  const from = onGround ? known.field_elevation_ft : known.level === null ? null : known.level * 100;
  if (!altitude || from === null || Math.abs(read.value - from) <= data.doubtful_ft) { return ""; }
  return Math.abs(read.value - from) + " ft from " + (onGround ? "the elevation" : "the level") + ": is every digit right?";
}

// Show what was found of a check beside its fields. While a number is still being typed nothing is
// called beyond its limit, for the first digits of every altitude are.
function judge(state, id, now, settled) {
  const card = document.getElementById(id);
  const check = checkOf(id);
  const read = readOf(state, id);
  const known = valuesOf(read);
  check.fields.forEach((name) => {
    const typed = (state.checks[id].values[name] || "").trim();
    const altitude = /_ft$/.test(name) && name !== "gnss_height_ft" && !check.on_ground;
    const meant = altitude && settled ? withThousands(typed, known.level) : typed;
    const note = meant === typed ? fieldNote(name, read[name], known, check.on_ground, settled) : "read as " + meant;
    const element = document.getElementById(id + "." + name + ".note");
    if (element) { element.textContent = shown(note); }
    if (meant !== typed) { known[name] = Number(meant); }
  });
  document.getElementById(id + ".taken").textContent = timeNotes(state, id, now).join("; ");
  const found = compare(data, check.on_ground, known).filter((each) => settled || !each.beyond);
  const results = card.querySelector(".results");
  const mark = JSON.stringify(found);
  if (results.dataset.mark === mark) { return; }
  results.dataset.mark = mark;
  const boxes = found.map((each) => resultOf(each, check.phase, check.on_ground));
  if (found.some((each) => each.beyond)) { boxes.push(afterFault(check.on_ground)); }
  results.replaceChildren.apply(results, boxes);
}
