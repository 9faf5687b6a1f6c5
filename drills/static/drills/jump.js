/* Answering from a keyboard: "s5" is the door, "s5 lid" a place behind it; of a list, a word of a
   thing. Keys typed outside a text field land in that of the prompt; what is sent does not change. */
(function () {
  "use strict";

  var TEXT = "textarea, select, input:not([type=radio]):not([type=checkbox]):not([type=hidden])";
  var NAMED = 4; /* words that are told of what lies behind a door: the foot of a phone stays low */

  function field() { return document.getElementById("code"); }
  function board() { return document.querySelector(".run:has(.on-board) #board"); }
  function words(text) { return text.toLowerCase().split(/[\s,›]+/).filter(Boolean); }
  /* Where keys land: the code of a place, the words of a list or of a kit, the number of a dose. */
  function landing() {
    return board() ? field() : document.querySelector(".asking :is([data-sift], [data-amount])");
  }
  function listed(last, all) {
    return all.length > 1 ? all.slice(0, -1).join(", ") + last + all.slice(-1) : all.join("");
  }
  function starts(said, typed) {
    return typed.every(function (word) {
      return said.some(function (each) { return each.indexOf(word) === 0; });
    });
  }

  function doors() { return Array.from(board().querySelectorAll(".bay > .cell")); }
  function codeOf(door) { return door.querySelector(".code").textContent.toLowerCase(); }
  function behind(door) { return Array.from(door.parentNode.querySelectorAll(".open .cell")); }
  function nameOf(cell) { return cell.nextElementSibling.querySelector("b").textContent; }

  function doorOf(code) {
    return doors().find(function (door) { return codeOf(door) === code; })
      || doors().find(function (door) { return codeOf(door).indexOf(code) === 0; });
  }

  /* The last word begins a word of the place itself, those before it any word of the way there. */
  function placeBehind(door, typed) {
    return behind(door).find(function (cell) {
      var way = cell.nextElementSibling.querySelector(".in"), own = words(nameOf(cell));
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

  /* What would have been read, of which the drawing tells all: what lies where is not in it. */
  function noDoor(typed) {
    var codes = Array.from(new Set(doors().map(codeOf))).map(function (code) {
      return code.toUpperCase();
    });
    var near = codes.filter(function (code) { return code[0] === typed[0].toUpperCase(); });
    var firsts = Array.from(new Set(codes.map(function (code) { return code[0]; }))).sort();
    return "No code begins with “" + typed + "”. " + (near.length
      ? "Here " + (near.length > 1 ? "are " : "is ") + listed(" and ", near) + "."
      : "Codes here begin with " + listed(" or ", firsts) + ".");
  }

  function nothingBehind(door, typed) {
    var code = codeOf(door).toUpperCase();
    var firsts = Array.from(new Set(behind(door).map(function (cell) {
      return words(nameOf(cell))[0];
    })));
    return "Behind " + code + " nothing is called “" + typed.join(" ") + "”. " + (firsts.length
      ? "Type a word such as " + listed(" or ", firsts.slice(0, NAMED)) + "."
      : "Type " + code + " alone.");
  }

  function tell(said) {
    var told = document.querySelector("#foot > p");
    if (!told) { return; }
    told.dataset.before = told.dataset.before || told.textContent;
    told.textContent = said || told.dataset.before;
  }

  /* What leads nowhere chooses nothing, so that Enter never sends what was typed before. */
  function follow() {
    var typed = words(field().value), rest = typed.slice(1);
    var door = typed.length ? doorOf(typed[0]) : null;
    var cell = door && rest.length ? placeBehind(door, rest) : door;
    tell(cell || !typed.length ? "" : door ? nothingBehind(door, rest) : noDoor(typed[0]));
    if (cell) { choose(cell.querySelector("input")); return; }
    board().querySelectorAll("input[name=place]").forEach(function (each) { each.checked = false; });
  }

  /* Nor is it sent: the page that comes back would have lost it. */
  document.addEventListener("submit", function (event) {
    var by = event.submitter;
    if (!field() || !board() || !field().value.trim() || by && !by.matches(".send, .vh")) { return; }
    if (board().querySelector("input[name=place]:checked")) { return; }
    event.preventDefault();
    event.stopImmediatePropagation();
    field().focus();
    field().select();
  }, true);

  function takes() { return document.querySelector("[data-takes]"); }
  function tellTaken(said) { document.querySelector("[data-taken]").textContent = said; }

  /* The thing of the list that Enter takes: one with words that begin so, else the first in sight. */
  function marked() {
    var typed = words(takes().value);
    var shown = Array.from(document.querySelectorAll("[data-choice]:not([hidden])"));
    return typed.length ? shown.find(function (choice) {
      return starts(words(choice.textContent), typed);
    }) || shown[0] : null;
  }

  function mark() {
    var typed = takes().value.trim(), found = marked();
    document.querySelectorAll("[data-choice]").forEach(function (choice) {
      choice.toggleAttribute("data-marked", choice === found);
    });
    if (!found) { tellTaken(typed && "Nothing in this list is called “" + typed + "”."); return; }
    found.scrollIntoView({ block: "nearest" });
    var does = found.querySelector("input").checked ? "Enter takes back: " : "Enter takes: ";
    tellTaken(does + found.textContent.trim());
  }

  function take() {
    var found = marked(), box = found && found.querySelector("input");
    if (!box) { return; }
    box.checked = !box.checked;
    box.dispatchEvent(new Event("input", { bubbles: true }));
    box.dispatchEvent(new Event("change", { bubbles: true }));
    takes().value = "";
    takes().dispatchEvent(new Event("input", { bubbles: true }));
    tellTaken(found.textContent.trim() + (box.checked ? " taken. " : " taken back. ") + "Enter sends.");
  }

  function clear() { if (field()) { field().value = ""; tell(""); } }

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
    if (!landing() || event.ctrlKey || event.metaKey || event.altKey) { return; }
    if (event.target === field() && event.key === "ArrowDown") {
      var chosen = board().querySelector("input[name=place]:checked");
      if (chosen) { event.preventDefault(); chosen.focus(); }
    } else if (event.target === takes() && event.key === "Enter" && takes().value.trim()) {
      event.preventDefault();
      take();
    } else if (/^[\p{L}\p{N}]$/u.test(event.key) && !event.target.matches(TEXT)) {
      landing().focus();
    }
  });

  document.addEventListener("input", function (event) {
    if (event.target === field() && board()) { follow(); }
    if (event.target === takes()) { mark(); }
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
