/* Choosing a place by its code from a keyboard: "s5" is the door, "s5 lid" a place behind it.
   Keys typed outside a text field land in the field of the foot; what is sent does not change. */
(function () {
  "use strict";

  var TEXT = "textarea, select, input:not([type=radio]):not([type=checkbox]):not([type=hidden])";

  function field() { return document.getElementById("code"); }
  function board() { return document.querySelector(".run:has(.on-board) #board"); }
  function words(text) { return text.toLowerCase().split(/[\s,›]+/).filter(Boolean); }
  function starts(said, typed) {
    return typed.every(function (word) {
      return said.some(function (each) { return each.indexOf(word) === 0; });
    });
  }

  function doorOf(code) {
    var doors = Array.from(board().querySelectorAll(".bay > .cell"));
    function codeOf(door) { return door.querySelector(".code").textContent.toLowerCase(); }
    return doors.find(function (door) { return codeOf(door) === code; })
      || doors.find(function (door) { return codeOf(door).indexOf(code) === 0; });
  }

  /* The last word begins a word of the place itself, those before it any word of the way there. */
  function placeBehind(door, typed) {
    return Array.from(door.parentNode.querySelectorAll(".open .cell")).find(function (cell) {
      var told = cell.nextElementSibling, way = told.querySelector(".in");
      var own = words(told.querySelector("b").textContent);
      return starts(own, typed.slice(-1))
        && starts(own.concat(way ? words(way.textContent) : []), typed);
    });
  }

  function choose(radio) {
    radio.checked = true;
    radio.dispatchEvent(new Event("change", { bubbles: true }));
    var face = radio.closest("[data-face]");
    var key = face && board().querySelector('.keyplan input[value="' + face.dataset.face + '"]');
    if (key) { key.checked = true; }
    radio.closest(".cell").scrollIntoView({ block: "nearest" });
  }

  /* What leads nowhere chooses nothing, so that Enter never sends what was typed before. */
  function follow() {
    var typed = words(field().value);
    var door = typed.length ? doorOf(typed[0]) : null;
    var cell = door && typed.length > 1 ? placeBehind(door, typed.slice(1)) : door;
    if (cell) { choose(cell.querySelector("input")); return; }
    board().querySelectorAll("input[name=place]").forEach(function (each) { each.checked = false; });
  }

  function clear() { if (field()) { field().value = ""; } }

  function begin() {
    var label = document.querySelector("[data-code]");
    if (label) { label.hidden = !board(); }
    clear();
    show();
  }

  /* The door of a warm-up is named; looking for it is no part of tapping it. */
  function show() {
    var ask = document.querySelector("[data-warm-up] #ask");
    var door = ask && board() && doorOf(words(ask.textContent)[0]);
    if (door) { door.scrollIntoView({ block: "nearest" }); }
  }

  document.addEventListener("htmx:afterSettle", function () { window.requestAnimationFrame(show); });

  document.addEventListener("keydown", function (event) {
    if (!field() || !board() || event.ctrlKey || event.metaKey || event.altKey) { return; }
    if (event.target === field() && event.key === "ArrowDown") {
      var chosen = board().querySelector("input[name=place]:checked");
      if (chosen) { event.preventDefault(); chosen.focus(); }
    } else if (/^[\p{L}\p{N}]$/u.test(event.key) && !event.target.matches(TEXT)) {
      field().focus();
    }
  });

  document.addEventListener("input", function (event) {
    if (event.target === field() && board()) { follow(); }
  });

  document.addEventListener("change", function (event) {
    if (event.target.name === "place" && event.isTrusted) { clear(); }
  });

  document.addEventListener("htmx:afterSwap", function (event) {
    if (event.target.id === "question") { begin(); }
  });

  if (document.readyState === "loading") { document.addEventListener("DOMContentLoaded", begin); }
  else { begin(); }
})();
