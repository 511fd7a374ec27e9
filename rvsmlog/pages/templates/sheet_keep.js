// What this browser keeps of a sheet, so that a closed tab loses nothing.
// Each sheet has a place of its own; what cannot be read is set aside, never overwritten.

const KEEP = "rvsmlog sheet ";
// No flight has so many hourly checks.
const MOST_HOURS = 99;

function keeper(data) {
  const place = KEEP + data.id;
  let store = null;
  try {
    store = window.localStorage;
    store.setItem(KEEP + "try", "1");
    store.removeItem(KEEP + "try");
  } catch (refused) {
    store = null;
  }

  const plain = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
  const texts = (value) => plain(value) && Object.values(value).every((each) => typeof each === "string");

  // Whether a state has the shape that the page works with: one that has not would stop it.
  function whole(state) {
    return plain(state) && state.form === data.form && plain(state.checks) && plain(state.ticks) &&
      texts(state.exported) && typeof state.pilot === "string" && typeof state.made_at === "string" &&
      Number.isInteger(state.hours) && state.hours >= 1 && state.hours <= MOST_HOURS &&
      Object.values(state.checks).every((check) => plain(check) && typeof check.day === "string" &&
        typeof check.clock === "string" && texts(check.values) &&
        (check.anchor === null || Number.isFinite(check.anchor)));
  }

  function understood(text) {
    try {
      const state = JSON.parse(text);
      return whole(state) ? state : null;
    } catch (broken) {
      return null;
    }
  }

  // Give what was kept of this sheet; set aside what another edition kept in its place.
  function load() {
    const text = store === null ? null : store.getItem(place);
    if (text === null) { return null; }
    const state = understood(text);
    if (state === null) {
      store.setItem(place + " set aside " + Date.now(), text);
      store.removeItem(place);
    }
    return state;
  }

  function save(state) {
    if (store === null) { return false; }
    try {
      store.setItem(place, JSON.stringify(state));
      return true;
    } catch (full) {
      return false;
    }
  }

  // Other sheets of this airframe, and what was set aside: {place, text, state or null}.
  function others() {
    const found = [];
    for (let at = 0; store !== null && at < store.length; at += 1) {
      const key = store.key(at);
      if (key !== place && key.indexOf(KEEP + data.registration + " ") === 0) {
        const text = store.getItem(key);
        found.push({ place: key, text: text, state: understood(text) });
      }
    }
    return found.sort((one, other) => (one.place < other.place ? -1 : 1));
  }

  return {
    place: place,
    works: store !== null,
    load: load,
    save: save,
    understood: understood,
    others: others,
    remove: (key) => { if (store !== null) { store.removeItem(key); } },
  };
}
