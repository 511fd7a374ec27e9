// The page at work: typing, the clock, the file, other sheets, clearing, paper.

let state = kept.load() || fresh();
let keptAt = null;
let typing = null;
let pause = null;
// So long after the last key a number counts as typed to its end, milliseconds.
const PAUSE_MS = 900;
const by = (id) => document.getElementById(id);

function nowMinute() {
  return Math.floor(Date.now() / MINUTE_MS) * MINUTE_MS;
}

// Bring everything that is kept into the page.
function fill() {
  const hours = by("hours");
  while (hours.children.length > state.hours) { hours.lastElementChild.remove(); }
  while (hours.children.length < state.hours) { hours.appendChild(hourCard(hours.children.length + 1)); }
  by("pilot").value = state.pilot;
  document.querySelectorAll("[data-tick]").forEach((box) => { box.checked = state.ticks[box.dataset.tick] === true; });
  idsOf(state).forEach((id) => {
    const entry = entryOf(state, id);
    by(id + ".clock").value = entry.clock;
    by(id + ".day").value = entry.day;
    by(id).querySelectorAll("[data-field]").forEach((field) => { field.value = entry.values[field.dataset.field] || ""; });
    by(id + ".head").textContent = titleOf(id);
  });
  tell();
}

function hourCard(hour) {
  const card = by("another").content.firstElementChild.cloneNode(true);
  [card].concat(Array.from(card.querySelectorAll("*"))).forEach((element) => {
    ["id", "for", "data-check", "aria-labelledby", "aria-describedby"].forEach((name) => {
      const text = element.getAttribute(name);
      if (text) { element.setAttribute(name, text.replace("hourly-0", "hourly-" + hour)); }
    });
  });
  return card;
}

// Judge every check, and say what the file holds.
function tell() {
  const now = Date.now();
  idsOf(state).forEach((id) => judge(state, id, now, id !== typing));
  const rows = rowsOf(state);
  const open = idsOf(state).filter((id) => isStarted(state, id) && lacksOf(state, id).length > 0);
  by("ready").textContent = rows.length === 0 ? "No whole check yet."
    : rows.length + (rows.length === 1 ? " check is" : " checks are") + " whole and in the file.";
  by("missing").replaceChildren.apply(by("missing"), open.map(
    (id) => made("li", titleOf(id) + " is not in the file yet: " + lacksOf(state, id).join("; "))));
  by("text").value = rows.length === 0 ? "" : fileOf(state);
  by("download").disabled = rows.length === 0;
  by("command").textContent = "rvsmlog crosscheck import " + fileName();
  tellKept();
  tick();
}

// Say whether what is typed outlasts the tab.
function tellKept() {
  const words = !kept.works
    ? "NOT KEPT: this browser keeps nothing of this file. Save the file below before you close the tab."
    : keptAt === false ? "NOT KEPT: there is no room on this device. Save the file below before you close the tab."
      : "Kept on this device as you type, in this browser, until you clear it.";
  by("kept").textContent = words;
  by("bar").classList.toggle("unkept", !kept.works || keptAt === false);
}

function keep() {
  keptAt = kept.save(state) ? Date.now() : false;
  tell();
}

// The clock of the device in UTC, and the time to the next check.
function tick() {
  const now = Date.now();
  by("utc").textContent = dayText(now) + " " + clockText(now) + ":" + two(new Date(now).getUTCSeconds()) + "Z";
  const times = idsOf(state).filter((id) => ["before-entry", "level", "hourly"].indexOf(phaseOf(id)) >= 0)
    .map((id) => takenOf(state, id)).filter((at) => at !== null);
  const over = takenOf(state, "leaving") !== null || takenOf(state, "after-flight") !== null;
  const next = over || times.length === 0 ? null : nextCheck(data, Math.max.apply(null, times), now);
  by("next").textContent = next === null ? "" : next.says;
  by("next").className = next !== null && now >= next.due ? "due" : "";
  tellAge(now);
}

// How old the sheet is, and whether the flight that it answers for is long past.
function tellAge(now) {
  const some = (minutes) => minutes < 2880 ? Math.floor(minutes / 60) + " h" : Math.floor(minutes / 1440) + " days";
  const old = Math.floor((now - Date.parse(data.made_at)) / MINUTE_MS);
  const past = Math.floor((now - Date.parse(data.at)) / MINUTE_MS);
  by("age").className = past < 1440 ? "screen-only" : "screen-only over";
  by("age").textContent = old < -data.future_min ? "By this device’s clock it was made in the future: set the clock."
    : past >= 1440 ? "Out of date: by this device’s clock the flight that it answers for was " + some(past) + " ago. Make it anew."
    : old < 60 ? "" : "By this device’s clock it is " + some(old) + " old.";
}

// The check that a control belongs to.
function idAt(element) {
  const card = element.closest("[data-check]");
  return card === null ? null : card.dataset.check;
}

function stamp(id, at) {
  const entry = entryOf(state, id);
  entry.clock = clockText(at);
  entry.day = dayText(at);
  entry.anchor = at;
  by(id + ".clock").value = entry.clock;
  by(id + ".day").value = entry.day;
}

// The moment nearest to which a time of day is meant.
function nearOf(id) {
  const anchor = entryOf(state, id).anchor;
  if (anchor !== null) { return anchor; }
  const ids = idsOf(state);
  const before = ids.slice(0, ids.indexOf(id)).map((each) => takenOf(state, each)).filter((at) => at !== null);
  return before.length === 0 ? null : before[before.length - 1];
}

function typed(event) {
  const target = event.target;
  const id = idAt(target);
  if (target.dataset.tick) {
    state.ticks[target.dataset.tick] = target.checked;
  } else if (target.id === "pilot") {
    state.pilot = target.value;
  } else if (target.classList.contains("clock")) {
    const entry = entryOf(state, id);
    const minutes = readClock(target.value);
    entry.clock = target.value;
    entry.day = minutes === null ? entry.day : dayOf(minutes, nearOf(id), Date.now() + data.future_min * MINUTE_MS);
    by(id + ".day").value = entry.day;
  } else if (target.classList.contains("day")) {
    entryOf(state, id).day = target.value;
  } else if (target.dataset.field) {
    entryOf(state, id).values[target.dataset.field] = target.value;
    settleLater(id);
  } else {
    return;
  }
  keep();
}

// Take a number for typed to its end once the fingers rest.
function settleLater(id) {
  clearTimeout(pause);
  typing = id;
  pause = setTimeout(settle, PAUSE_MS);
}

function settle() {
  clearTimeout(pause);
  typing = null;
  tell();
}

// When a field is left: three digits become an altitude, a time gets its colon.
function left(event) {
  const target = event.target;
  const id = idAt(target);
  if (id === null || target.dataset.tick) { return; }
  const entry = entryOf(state, id);
  const name = target.dataset.field;
  if (name) {
    const level = readOf(state, id).level;
    const altitude = /_ft$/.test(name) && name !== "gnss_height_ft" && level;
    target.value = altitude ? withThousands(target.value.trim(), level.value) : target.value;
    const read = readField(data.fields[name], target.value);
    if (read.fault === "" && !read.inches) { target.value = read.text; }
    entry.values[name] = target.value;
    if (name === "level") { levelOn(id, target.value); }
  } else {
    entry.anchor = takenOf(state, id);
    if (entry.anchor !== null) { stamp(id, entry.anchor); }
  }
  keep();
  settle();
}

// Later checks that are not begun yet are made at the level of this one.
function levelOn(id, level) {
  const ids = idsOf(state);
  ids.slice(ids.indexOf(id) + 1).filter((each) => !checkOf(each).on_ground && !isStarted(state, each)).forEach((each) => {
    if (id !== "before-entry") {
      entryOf(state, each).values.level = level;
      by(each + ".level").value = level;
    }
  });
}

function pressed(event) {
  const button = event.target.closest("button");
  if (button === null) { return; }
  const id = idAt(button);
  if (button.classList.contains("now")) {
    const old = entryOf(state, id).clock;
    if (old !== "" && !button.dataset.sure) {
      button.dataset.sure = "1";
      button.textContent = "Replace " + old + "?";
      return;
    }
    delete button.dataset.sure;
    button.textContent = "Now";
    stamp(id, nowMinute());
    keep();
  } else if (button.classList.contains("sign")) {
    const field = button.parentElement.querySelector("input");
    field.value = field.value.charAt(0) === "-" ? field.value.slice(1) : "-" + field.value;
    entryOf(state, id).values[field.dataset.field] = field.value;
    keep();
    field.focus();
  }
}

function addHour() {
  if (state.hours >= MOST_HOURS) { return; }
  const before = entryOf(state, "hourly-" + state.hours).values.level || "";
  state.hours += 1;
  withLevel(state, "hourly-" + state.hours, before === "" ? null : before);
  fill();
  keep();
  by("hourly-" + state.hours + ".head").scrollIntoView();
}

function fileName() {
  const first = rowsOf(state)[0];
  return "crosschecks-" + data.registration + (first ? "-" + first.taken_at.slice(0, 10) : "") + ".csv";
}

// Remember at which time each check went out, so that a change of it is told.
function sent() {
  idsOf(state).filter((id) => isStarted(state, id) && lacksOf(state, id).length === 0).forEach((id) => {
    if (!state.exported[id]) { state.exported[id] = instantText(takenOf(state, id)); }
  });
  keep();
}

function download() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([fileOf(state)], { type: "text/csv;charset=utf-8" }));
  link.download = fileName();
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  sent();
}

function button(text, does) {
  const element = made("button", text);
  element.type = "button";
  element.addEventListener("click", does);
  return element;
}

// A button that does something for good only when it is pressed, and then its second one.
function inTwoSteps(place, first, warning, second, does) {
  function ask() {
    const no = button("Keep it", () => { place.replaceChildren(start); start.focus(); });
    place.replaceChildren(made("span", warning() + " "), button(second, does), " ", no);
    no.focus();
  }
  const start = button(first, ask);
  place.replaceChildren(start);
}

function clearing() {
  inTwoSteps(by("clearing"), "Clear this sheet …", () => {
    const begun = idsOf(state).filter((id) => isStarted(state, id));
    const unsaved = begun.filter((id) => !state.exported[id]).length;
    const checks = begun.length === 1 ? "1 check" : begun.length + " checks";
    return "This removes " + checks + " and every tick from this device; never saved to a file: " + unsaved + ".";
  }, "Yes, clear it", () => {
    state = fresh();
    keep();
    fill();
    clearing();
    by("clear-done").textContent = "Cleared.";
  });
}

// Other sheets of this airframe that this browser keeps.
function tellOthers() {
  const found = kept.others().filter((each) => each.state === null || idsOf(each.state).some((id) => isStarted(each.state, id)));
  by("others").replaceChildren.apply(by("others"), found.map(otherBox));
}

function otherBox(other) {
  const box = made("div", "", "box");
  const count = other.state === null ? 0 : idsOf(other.state).filter((id) => isStarted(other.state, id)).length;
  box.appendChild(made("p", other.state === null
    ? "This browser keeps something of a sheet of " + data.registration + " that this edition cannot read. It is left as it is; its text can be copied."
    : "This browser keeps another sheet of " + data.registration + ", made " + other.state.made_at.slice(0, 16) + "Z, with " + count + (count === 1 ? " check." : " checks.")));
  const text = made("textarea");
  text.readOnly = true;
  text.hidden = true;
  text.setAttribute("aria-label", "Text of the other sheet");
  const row = box.appendChild(made("p"));
  row.appendChild(button("Show its text", () => {
    text.hidden = false;
    text.value = other.state === null ? other.text : fileOf(other.state);
  }));
  const mine = idsOf(state).some((id) => isStarted(state, id));
  if (other.state !== null && !mine) {
    row.appendChild(button("Go on with it here", () => {
      state = Object.assign({}, other.state, { made_at: data.made_at, ticks: {} });
      keep();
      fill();
      tellOthers();
    }));
  }
  const removing = row.appendChild(made("span"));
  inTwoSteps(removing, "Remove it …", () => "It is gone for good then.", "Yes, remove it", () => {
    kept.remove(other.place);
    tellOthers();
  });
  box.appendChild(text);
  return box;
}

// What was typed goes onto the paper too; a fresh sheet prints with empty boxes.
function toPaper() {
  document.querySelectorAll("[data-cell]").forEach((cell) => {
    const id = cell.dataset.cell.split(".")[0];
    const name = cell.dataset.cell.split(".")[1];
    if (id === "pilot") { cell.textContent = shown(state.pilot); }
    if (!name || !by(id) || !isStarted(state, id)) { return; }
    const entry = entryOf(state, id);
    const text = name === "clock" ? entry.clock : entry.values[name];
    if (text !== undefined) { cell.textContent = shown(text); }
  });
}

by("checks").addEventListener("input", typed);
by("checks").addEventListener("change", left);
by("checks").addEventListener("click", pressed);
by("add").addEventListener("click", addHour);
by("download").addEventListener("click", download);
by("text").addEventListener("focus", () => by("text").select());
by("text").addEventListener("copy", sent);
window.addEventListener("beforeprint", toPaper);
window.addEventListener("storage", (event) => {
  if (event.key !== kept.place) { return; }
  state = (event.newValue === null ? null : kept.understood(event.newValue)) || fresh();
  fill();
});
window.addEventListener("beforeunload", (event) => {
  const unsaved = idsOf(state).some((id) => isStarted(state, id) && !state.exported[id]);
  if (unsaved && (!kept.works || keptAt === false)) { event.preventDefault(); }
});
by("bar").hidden = false;
clearing();
fill();
tellOthers();
setInterval(tick, 1000);
