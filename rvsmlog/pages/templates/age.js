"use strict";
// How old the board is, in words, by this device's clock; told anew each minute.
(function () {
  var box = document.getElementById("age");
  var words = document.getElementById("age-now");
  var at = Date.parse(box.dataset.at);
  var ends = Date.parse(box.dataset.ends);
  function some(count, unit) {
    return count + " " + unit + (count === 1 ? "" : "s");
  }
  function old(minutes) {
    if (minutes < 1) { return "just now"; }
    if (minutes < 60) { return some(minutes, "minute") + " ago"; }
    if (minutes < 48 * 60) { return some(Math.floor(minutes / 60), "hour") + " ago"; }
    return some(Math.floor(minutes / 1440), "day") + " ago";
  }
  function tell() {
    var now = Date.now();
    var minutes = Math.floor((now - at) / 60000);
    if (minutes < -5) {
      box.className = "age over";
      words.textContent = "By this device's clock the board is of the future: set the clock.";
    } else if (now >= ends) {
      box.className = "age over";
      words.textContent = "Out of date: it shows the fleet as it was " + old(minutes) + ".";
    } else {
      box.className = "age";
      words.textContent = "It shows the fleet as it was " + old(Math.max(minutes, 0)) + ".";
    }
  }
  tell();
  setInterval(tell, 60000);
})();
