/* The clock, the browser's own time, and what the page does between two prompts.
   Everything works without this file; then the time of sending counts. */
(function () {
  "use strict";

  var painted = 0, chosenAt = 0, hiddenSince = 0, hidden = 0, ticking = 0;
  var reduced = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  var SAID_AT = [0.5, 1];
  var said = [], taken = [], toldLast = "";

  function form() { return document.querySelector("form[data-run]"); }
  function asking() { return document.querySelector("[data-asking]"); }
  function put(name, value) {
    var field = form() && form().querySelector("[data-" + name + "]");
    if (field) { field.value = value; }
  }
  function seconds(from, to) { return ((to - from) / 1000).toFixed(3); }

  /* Spoken, not shown: who looks at the bar has seen it. */
  function say(words) {
    var status = document.getElementById("status");
    if (!status) { return; }
    var spoken = document.createElement("span");
    spoken.className = "vh";
    spoken.textContent = words;
    status.replaceChildren(spoken);
  }

  function deviceClass() {
    return window.matchMedia("(pointer: coarse)").matches || window.innerWidth < 700 ? "phone" : "desk";
  }

  /* A bar that fills; under reduced motion in steps of five seconds. */
  function drawClock() {
    window.cancelAnimationFrame(ticking);
    var clock = document.querySelector("[data-clock]");
    if (!clock || !asking()) { return; }
    var done = clock.querySelector("[data-clock-done]");
    var whole = Number(clock.querySelector(".left").getAttribute("width"));
    var limit = Number(clock.dataset.limit), gone = Number(clock.dataset.gone);
    var now = gone + (performance.now() - painted) / 1000;
    var shown = reduced ? Math.floor(now / 5) * 5 : now;
    done.setAttribute("width", String(Math.min(shown / limit, 1) * whole));
    SAID_AT.forEach(function (part) {
      if (now / limit >= part && !chosenAt && said.indexOf(part) < 0) {
        said.push(part);
        say(part < 1 ? "Half of the time is gone." : "The limit has passed. You can still answer.");
      }
    });
    if (now < limit) { ticking = window.requestAnimationFrame(drawClock); }
  }

  function nothingChosen() {
    form().querySelectorAll("#board input[type=radio]").forEach(function (radio) {
      radio.checked = radio.defaultChecked;
    });
  }

  /* A prompt has come into sight: time starts when it is painted. */
  function begin() {
    document.querySelectorAll("[data-sift-label]").forEach(function (sift) { sift.hidden = false; });
    if (!form()) { return; }
    put("device", deviceClass());
    /* A frame of the clock before must not speak of this prompt. */
    window.cancelAnimationFrame(ticking);
    if (said.length) { say(""); }
    if (!asking()) { return; }
    nothingChosen();
    tellChosen();
    form().querySelectorAll(".asides, .unable").forEach(function (each) { each.open = false; });
    chosenAt = 0; taken = []; hidden = 0; hiddenSince = document.hidden ? performance.now() : 0; said = [];
    window.requestAnimationFrame(function () {
      painted = performance.now();
      drawClock();
    });
  }

  /* What opens at the end of a page lies behind the bar that stands there. */
  document.addEventListener("toggle", function (event) {
    if (!event.target.matches(".asides[open]")) { return; }
    var buttons = event.target.querySelector("p"), foot = document.getElementById("foot");
    buttons.style.scrollMarginBottom = foot.offsetHeight + "px";
    buttons.scrollIntoView({ block: "nearest" });
  }, true);

  document.addEventListener("change", function (event) {
    if (/^(place|thing|bag|amount|unit|n-)/.test(event.target.name)) {
      chosenAt = performance.now();
    }
  });

  document.addEventListener("input", function (event) {
    if (!event.target.matches("[data-sift]")) { return; }
    var words = event.target.value.toLowerCase();
    var found = 0, rules = 0;
    document.querySelectorAll("[data-choice]").forEach(function (choice) {
      var place = choice.closest("[data-kit-place]");
      var told = (choice.dataset.words || choice.textContent) + (place ? place.dataset.kitPlace : "");
      choice.hidden = told.toLowerCase().indexOf(words) < 0;
      var its = choice.querySelector("[data-rules]");
      if (!choice.hidden) { found += 1; rules += its ? Number(its.dataset.rules) : 0; }
    });
    /* What is said of all of them steps back while some are looked for. */
    document.querySelectorAll("[data-unsifted]").forEach(function (all) { all.hidden = words !== ""; });
    document.querySelectorAll("[data-sifted]").forEach(function (told) {
      told.hidden = words === "";
      told.textContent = found + " found, with " + rules + (rules === 1 ? " rule" : " rules");
    });
    document.querySelectorAll("[data-kit-place]").forEach(function (place) {
      place.hidden = !place.querySelector("[data-choice]:not([hidden])");
    });
    showKitFound(words, found);
  });

  /* Buttons of one name are one stop of Tab, wherever the first of them stands: what was laid open,
     and what a search left of it, is entered all the same. */
  document.addEventListener("keydown", function (event) {
    var from = event.target, folded = from.matches("summary, [data-sift]") && from.closest("details[open]");
    var isTab = event.key === "Tab" && !event.shiftKey, isSift = from.matches("[data-sift]");
    if (!folded || !(isTab || (isSift && event.key === "Enter"))) { return; }
    if (isTab && !isSift && folded.querySelector("[data-sift]")) { return; }
    var seen = Array.prototype.filter.call(folded.querySelectorAll("[type=radio], [type=checkbox]"), function (each) {
      return each.offsetParent && (each.type === "radio" || !isTab);
    });
    var to = seen.filter(function (each) { return each.checked && each.type === "radio"; })[0] || seen[0];
    if (to || !isTab) { event.preventDefault(); }
    if (to) { to.focus(); }
  });

  /* What a search finds stands right beneath it, whatever was scrolled to or folded. */
  function showKitFound(words, found) {
    var told = document.querySelector("[data-kit-found]");
    if (!told) { return; }
    asking().classList.toggle("sifting", words !== "");
    told.textContent = found ? found + " found" : "Nothing aboard is called that.";
    if (words) {
      say(told.textContent);
      document.querySelector("[data-kit-top]").scrollIntoView();
    }
  }

  /* A door chosen on the drawing is opened in the list, and the list goes on from there. */
  document.addEventListener("click", function (event) {
    var link = event.target.closest && event.target.closest(".kit-plan a");
    var door = link && document.querySelector(link.getAttribute("href"));
    if (!door) { return; }
    event.preventDefault();
    var opens = door.querySelector("[data-opens]");
    opens.checked = true;
    opens.focus({ preventScroll: true });
    door.scrollIntoView();
  });

  /* The foot says what Send will send: how many things of a kit, or the number with its unit. */
  function tellChosen() {
    var told = document.querySelector("#foot > p"), amount = document.querySelector("[data-amount]");
    if (!told || !form()) { return; }
    var unit = form().querySelector("input[name=unit]:checked"), things = 0;
    form().querySelectorAll(".kit-place input, .choices input, .tallies input").forEach(function (input) {
      if (input.type === "checkbox" || input.closest(".choices")) { things += Number(input.checked); }
      else if (input.type === "number" || input.checked) { things += Number(input.value); }
    });
    told.dataset.said = things ? things + " chosen" : "";
    if (amount && amount.value) {
      var isWhole = amount.matches("[data-bare]") || /[a-z%]/i.test(amount.value);
      told.dataset.said = amount.value + (unit ? " " + unit.value : isWhole ? "" : ": choose a unit");
    }
  }
  document.addEventListener("input", tellChosen);

  /* In which order a kit was taken, for the debrief to lay beside the quickest way. */
  document.addEventListener("input", function (event) {
    var input = event.target;
    if (!input.closest(".kit") || !/^(bag$|n-)/.test(input.name)) { return; }
    var token = input.name === "bag" ? input.value : input.name.slice(2), at = taken.indexOf(token);
    var isTaken = input.type === "checkbox" ? input.checked : Number(input.value) > 0;
    if (isTaken && at < 0) { taken.push(token); }
    if (!isTaken && at >= 0) { taken.splice(at, 1); }
    put("order", taken.join(" "));
  });

  document.addEventListener("visibilitychange", function () {
    if (document.hidden) { hiddenSince = performance.now(); }
    else if (hiddenSince) { hidden += performance.now() - hiddenSince; hiddenSince = 0; }
  });

  document.addEventListener("submit", function (event) {
    if (event.target !== form() || !asking()) { return; }
    var now = performance.now(), chosen = chosenAt || now;
    put("elapsed", seconds(painted, chosen));
    put("gap", seconds(chosen, now));
    put("hidden", seconds(0, hidden));
  }, true);

  document.addEventListener("keydown", function (event) {
    var sift = event.target.matches && event.target.matches("[data-sift]:not([data-takes])");
    if (sift && event.key === "Enter") { event.preventDefault(); }
  });

  /* From the heading of a verdict Enter goes on; the press that sent the answer, held down, does not. */
  document.addEventListener("keydown", function (event) {
    if (event.key !== "Enter" || event.repeat || !event.target.matches(".told-at-once #ask")) { return; }
    event.preventDefault();
    document.querySelector(".told-at-once .foot .send").click();
  });

  /* In one step with the swap, so that no key pressed meanwhile is undone. */
  document.addEventListener("htmx:afterSwap", function (event) {
    if (event.target.id === "question") { begin(); }
  });

  /* A drawing that changed says what it shows now: what was opened, else how much was found. */
  document.addEventListener("htmx:afterSettle", function () {
    var told = document.querySelector("#rig[data-told]");
    if (told && told.dataset.told !== toldLast) { say(told.dataset.told); }
    toldLast = told ? told.dataset.told : "";
  });

  /* What went wrong with htmx, in one sentence, and what to do. The page of a 403 knows which of
     three it is: a form older than the sign-in, closed for now, or another's. */
  var WRONG = {
    404: "There is no such page any more; nothing was changed. Go back to the start.",
    405: "This page is out of step with the server; nothing was changed. Reload it.",
    500: "Something broke on our side. Reload the page to see whether it was taken."
  };
  var AWAY = "The server does not answer just now. Wait a moment, then send again.";
  var REFUSED = "The server refused that; nothing was changed. Reload the page and send again.";

  function alertWith(words) {
    var alert = document.getElementById("alert"), line = document.createElement("p");
    line.textContent = words;
    if (alert) { alert.replaceChildren.apply(alert, words ? [line] : []); }
  }

  function sentWith(xhr) { return new DOMParser().parseFromString(xhr.responseText, "text/html"); }

  /* What is in the way, to go there in another tab: what was typed here stays. */
  function alertGoing(link) {
    var line = link && document.querySelector("#alert p");
    if (!line) { return; }
    link.target = "_blank";
    line.append(" ", link);
  }

  function refusalOf(xhr) {
    var sent = sentWith(xhr);
    var told = xhr.status === 403 && sent.querySelector("h1.ask small");
    return told ? told.textContent : WRONG[xhr.status] || (xhr.status > 500 ? AWAY : REFUSED);
  }

  /* As long as the server waits for its database, and half as long again. */
  if (window.htmx) { window.htmx.config.timeout = 30000; }

  document.addEventListener("htmx:beforeRequest", function () { alertWith(""); });
  document.addEventListener("htmx:responseError", function (event) {
    alertWith(refusalOf(event.detail.xhr));
    alertGoing(sentWith(event.detail.xhr).querySelector("a[data-go]"));
  });
  document.addEventListener("htmx:sendError", function () {
    alertWith("No connection. Your choice is still here; press Send again.");
  });
  document.addEventListener("htmx:timeout", function () {
    alertWith("No answer came in time. Your choice is still here; send again.");
  });

  /* Light and gloves change in place: whatever stands in a form of the page stays. */
  function press(buttons, isPressed) {
    buttons.forEach(function (button) {
      button.setAttribute("aria-pressed", String(isPressed(button)));
    });
  }
  document.addEventListener("htmx:afterRequest", function (event) {
    var switched = event.detail.elt, sent = event.detail.requestConfig.parameters;
    if (!event.detail.successful || !switched.matches(".switch")) { return; }
    var buttons = switched.querySelectorAll("button");
    if (sent.mood) {
      if (sent.mood === "system") { delete document.documentElement.dataset.mood; }
      else { document.documentElement.dataset.mood = sent.mood; }
      press(buttons, function (button) { return button.value === sent.mood; });
    } else {
      document.body.classList.toggle("glove", sent.gloves === "on");
      press(buttons, function () { return sent.gloves === "on"; });
      buttons[0].value = sent.gloves === "on" ? "off" : "on";
    }
  });

  if (document.readyState === "loading") { document.addEventListener("DOMContentLoaded", begin); }
  else { begin(); }
})();
