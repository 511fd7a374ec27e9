"use strict";
// Sums of the in-flight sheet: plain functions that touch neither the page nor the clock.
// Every limit comes in with the data, as the rules have it; here it is only compared.

const DAY_MS = 86400000;
const MINUTE_MS = 60000;

// One altitude against another, in the words of `rvsmlog crosscheck log`.
function comparison(what, says, difference, limit) {
  return {
    what: what, says: says, difference_ft: difference, limit_ft: limit,
    beyond: limit !== null && Math.abs(difference) > limit,
  };
}

function signed(feet) {
  return (feet < 0 ? "-" : "+") + Math.abs(feet);
}

function primaries(one, two, limit) {
  return comparison("primaries", "altimeters " + Math.abs(one - two) + " ft apart", one - two, limit);
}

// A third altitude against that primary from which it is farther, or to which it is nearer.
function against(what, altitude, one, two, farther, limit) {
  const first = altitude - one;
  const second = altitude - two;
  const takeSecond = farther
    ? Math.abs(second) > Math.abs(first) : Math.abs(second) < Math.abs(first);
  const difference = takeSecond ? second : first;
  const says = what + " " + signed(difference) + " ft from altimeter " + (takeSecond ? 2 : 1);
  return comparison(what, says, difference, limit);
}

// [lowest level, highest level, primaries ft, standby ft or null] of a level, or null.
function bandOf(data, level) {
  return data.bands.find((band) => band[0] <= level && level <= band[1]) || null;
}

// What is known of a check, numbers or null by field, compared as far as it goes.
function compare(data, onGround, known) {
  const one = known.primary_1_ft;
  const two = known.primary_2_ft;
  const found = [];
  if (onGround) {
    [one, two].forEach((reading, index) => {
      if (reading !== null && known.field_elevation_ft !== null) {
        const error = reading - known.field_elevation_ft;
        const says = "altimeter " + (index + 1) + " " + signed(error) + " ft from the elevation";
        found.push(comparison("elevation", says, error, data.ground_ft));
      }
    });
    if (one !== null && two !== null) { found.push(primaries(one, two, data.ground_between_ft)); }
    return found;
  }
  const band = known.level === null ? null : bandOf(data, known.level);
  if (band === null || one === null || two === null) { return found; }
  found.push(primaries(one, two, band[2]));
  if (known.standby_ft !== null) {
    found.push(against("standby", known.standby_ft, one, two, true, band[3]));
  }
  if (known.transponder_ft !== null) {
    found.push(against("transponder", known.transponder_ft, one, two, false, data.transponder_ft));
  }
  return found;
}

// A comparison in words; the meaning stands in the words, not in a colour.
function inWords(each) {
  if (each.limit_ft === null) { return each.says + "; no limit on record"; }
  const left = each.limit_ft - Math.abs(each.difference_ft);
  const tolerance = each.says + ", tolerance " + each.limit_ft + " ft";
  return each.beyond ? "BEYOND by " + -left + " ft: " + tolerance : tolerance + ": within, " + left + " ft left";
}

// Three digits typed at a level stand for the altitude nearest to that level which ends in them;
// where two are equally near they stay as they are.
function withThousands(text, level) {
  if (!/^\d{3}$/.test(text) || level === null) { return text; }
  const ending = Number(text);
  const thousands = (level * 100 - ending) / 1000;
  if (Math.abs(thousands % 1) === 0.5) { return text; }
  return String(Math.max(Math.round(thousands), 0) * 1000 + ending);
}

// Text as the log will read it: {text, value, fault}; value null where nothing good stands there.
function readField(spec, typed) {
  const bare = typed.trim();
  if (bare === "") { return { text: "", value: null, fault: "" }; }
  if (spec.type === "text") {
    const text = spec.upper ? bare.toUpperCase() : bare;
    const long = Array.from(text.normalize("NFC")).length > spec.longest;
    return { text: text, value: text, fault: long ? "at most " + spec.longest + " characters" : "" };
  }
  if (spec.type === "choice") { return { text: bare, value: bare, fault: "" }; }
  return readNumber(spec, bare);
}

function readNumber(spec, bare) {
  let text = bare.replace(/\u2212/g, "-").replace(/^FL ?/i, spec.type === "level" ? "" : "$&");
  if (spec.type === "real") { text = text.replace(",", ".").replace(/^([+-]?)\./, "$10."); }
  const form = spec.type === "real" ? /^[+-]?\d{1,13}(\.\d*)?$/ : /^[+-]?\d{1,18}$/;
  const fault = "write " + (spec.type === "real" ? "a number" : "a whole number") + " from " +
    spec.low + " to " + spec.high;
  if (!form.test(text)) { return { text: bare, value: null, fault: fault }; }
  const inches = Boolean(spec.inches) && Number(text) >= spec.inches.low && Number(text) <= spec.inches.high;
  if (inches) { text = (Number(text) * spec.inches.hpa).toFixed(2); }
  const value = Number(text);
  const good = value >= spec.low && value <= spec.high;
  return { text: good ? text : bare, value: good ? value : null, fault: good ? "" : fault, inches: inches };
}

// Minutes since midnight of 0905, 905, 9:05 or 09:05Z; null when it is no time of day.
function readClock(text) {
  const match = /^(\d{1,2}):?([0-5]\d)\s*[zZ]?$/.exec(text.trim());
  if (match === null || Number(match[1]) > 23) { return null; }
  return Number(match[1]) * 60 + Number(match[2]);
}

// Milliseconds of a day of the calendar written 2028-02-29; null when there is no such day.
function readDay(text) {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text.trim());
  if (match === null) { return null; }
  const at = Date.UTC(Number(match[1]), Number(match[2]) - 1, Number(match[3]));
  return dayText(at) === match[0] ? at : null;
}

function two(number) {
  return String(number).padStart(2, "0");
}

function dayText(ms) {
  const at = new Date(ms);
  return String(at.getUTCFullYear()).padStart(4, "0") + "-" + two(at.getUTCMonth() + 1) + "-" + two(at.getUTCDate());
}

function clockText(ms) {
  const at = new Date(ms);
  return two(at.getUTCHours()) + ":" + two(at.getUTCMinutes());
}

// The day of a time of day: the moment nearest to the check before it; without one, the last.
function dayOf(minutes, near, now) {
  const latest = near === null ? now : near + DAY_MS / 2;
  const onTheDay = Math.floor(latest / DAY_MS) * DAY_MS + minutes * MINUTE_MS;
  return dayText(onTheDay <= latest ? onTheDay : onTheDay - DAY_MS);
}

// Milliseconds of a check's day and time as typed; null while either is missing or wrong.
function instantOf(day, clock) {
  const at = readDay(day);
  const minutes = readClock(clock);
  return at === null || minutes === null ? null : at + minutes * MINUTE_MS;
}

function instantText(ms) {
  return dayText(ms) + "T" + clockText(ms) + "Z";
}

// When the next check is due, and in words; null before entry and after the last one.
function nextCheck(data, latest, now) {
  if (latest === null) { return null; }
  const due = latest + data.interval_min * MINUTE_MS;
  const left = Math.ceil((due - now) / MINUTE_MS);
  const at = clockText(due) + "Z";
  if (left > 0) { return { due: due, overdue: false, says: "Next check " + at + ", in " + left + " min" }; }
  const over = Math.floor((now - due) / MINUTE_MS);
  if (over < 1) { return { due: due, overdue: false, says: "Next check now (" + at + ")" }; }
  const overdue = over > data.grace_min;
  return { due: due, overdue: overdue, says: (overdue ? "OVERDUE" : "Due") + " since " + at + ", " + over + " min ago" };
}

// One cell of the file: no spreadsheet takes it for a formula, and the import reads it back.
function csvCell(text, free) {
  const neutral = free && /^'*[=+\-@\t\r]/.test(text) ? "'" + text : text;
  return /[",\r\n]/.test(neutral) ? '"' + neutral.replace(/"/g, '""') + '"' : neutral;
}

// Rows of text by column, as `rvsmlog crosscheck import` takes them.
function csvText(columns, freeText, rows) {
  const line = (row) => columns.map((name) => csvCell(row[name] || "", freeText.indexOf(name) >= 0)).join(",");
  return [columns.join(",")].concat(rows.map(line)).join("\n") + "\n";
}

// Control and formatting characters made visible, as the program does everywhere.
function shown(text) {
  return text.replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Co}\p{Zl}\p{Zp}]/gu, (character) => {
    const number = character.codePointAt(0).toString(16);
    return number.length > 4 ? "\\U" + number.padStart(8, "0") : "\\u" + number.padStart(4, "0");
  });
}
