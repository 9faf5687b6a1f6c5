/* The watch of a sheet at the open doors. It runs here, and each deed is sent when there is signal:
   nobody waits for the network with a stopwatch in hand. Without this file the buttons send the
   page, and the server's time counts. */
(function () {
  "use strict";

  var form = document.querySelector("form[data-sheet]");
  if (!form) { return; }
  var RETRY_MS = 10000, UNDO_MS = 5000, PATIENCE_MS = 2000;
  var box = "sheet " + form.dataset.sheet;
  var step = form.dataset.step, startedAt = 0, undo = null, undoing = 0, sending = false, isShort = false;
  var kept = load();
  kept.by = document.body.dataset.owner;
  kept.page = window.location.pathname;
  /* Single things are asked one by one: which is asked now, and of how many. */
  var isSingle = form.dataset.things !== undefined, things = Number(form.dataset.things);
  var current = Number(form.dataset.current), settling = 0, closing = 0;

  /* Wall time of the page's own monotonic clock: it does not jump while the page is open, and goes
     on where a page was loaded anew. */
  function now() { return performance.timeOrigin + performance.now(); }

  function load() {
    try { return JSON.parse(localStorage.getItem(box)) || { unsent: [] }; }
    catch (error) { return { unsent: [] }; }
  }
  function save() {
    try {
      if (step === "closed" && !kept.unsent.length) { localStorage.removeItem(box); return; }
      localStorage.setItem(box, JSON.stringify(kept));
    } catch (error) { tell("This phone keeps nothing. Stay on this page until all is sent."); }
  }

  function one(name) { return form.querySelector("[data-" + name + "]"); }
  function all(selector) { return Array.prototype.slice.call(form.querySelectorAll(selector)); }
  function tell(words) {
    var fault = one("fault");
    fault.textContent = words;
    fault.hidden = !words;
  }

  function clocked(seconds) {
    var whole = Math.floor(seconds), left = whole % 60;
    return Math.floor(whole / 60) + ":" + (left < 10 ? "0" : "") + left;
  }
  function elapsed() { return (now() - startedAt) / 1000; }

  function tick() {
    if (step !== "running") { return; }
    one("watch").textContent = clocked(elapsed());
    window.setTimeout(tick, 250);
  }

  function count() {
    if (isSingle) { one("count").textContent = (current + 1) + " of " + things; return; }
    var lines = all(".watch ~ .sec0 fieldset"), marked = all(".watch ~ .sec0 input:checked");
    one("count").textContent = marked.length + " of " + lines.length + " marked";
    one("doors").textContent = Number(form.elements.wrong_doors.value) || "";
  }

  function go(to) {
    step = kept.step = to;
    if (isSingle) { showThing(); }
    window.clearTimeout(closing);
    all("[data-part]").forEach(function (part) { part.hidden = part.dataset.part !== to; });
    if (to === "running") { tick(); count(); }
    if (to === "back") { showBack(); }
    form.querySelector(".away").hidden = to === "kept" || Boolean(kept.away);
    window.scrollTo(0, 0);
    var heading = form.querySelector("[data-part=" + to + "] h1");
    if (heading) { heading.tabIndex = -1; heading.focus(); }
  }

  /* After a call anything may be out; else what was marked. */
  function isOut(number) {
    if (isSingle) { return Number(number) < current + (kept.wasLooking ? 1 : 0) || serverSaysOut(number); }
    return Boolean(kept.away && !kept.stopped) || Boolean(form.querySelector("input[name=seen-" + number + "]:checked"));
  }
  function showBack() {
    all("[data-thing]").forEach(function (thing) { thing.hidden = !isOut(thing.dataset.thing); });
    all("[data-back]").forEach(function (door) { door.hidden = !door.dataset.back.split(" ").some(isOut); });
    one("nothing-out").hidden = all("[data-back]:not([hidden])").length > 0;
  }

  function serverSaysOut(number) {
    return form.dataset.left !== undefined && outAtFirst.indexOf(String(number)) >= 0;
  }
  var outAtFirst = all("[data-thing]:not([hidden])").map(function (thing) { return thing.dataset.thing; });

  /* The thing that is asked for, and of the last one what came of it and where it is. */
  function showThing() {
    form.elements.thing.value = current;
    all("[data-ask]").forEach(function (each) { each.hidden = Number(each.dataset.ask) !== current; });
    all("[data-told]").forEach(function (each) {
      each.hidden = step === "running" || step === "kept" || Number(each.dataset.told) !== current - 1;
      if (kept.told && Number(each.dataset.told) === kept.told.number) { each.querySelector("[data-said]").textContent = kept.told.words; }
    });
  }

  /* What is sent, in order, each with how long ago it was done. */
  function packed(deed) {
    var fields = [];
    new FormData(form).forEach(function (value, name) {
      if (name !== "csrfmiddlewaretoken" && name !== "ago") { fields.push([name, String(value)]); }
    });
    fields.push(["deed", deed]);
    return { fields: fields, at: now() };
  }
  function queue(deed) { push(packed(deed)); }
  function push(what) {
    kept.unsent.push(what);
    save();
    send();
  }

  function showUnsent() {
    var line = one("unsent"), many = kept.unsent.length;
    line.hidden = !many || sending;
    line.textContent = many + " not sent yet. It is kept on this phone and sent when there is signal.";
  }

  function send() {
    if (sending || !kept.unsent.length) { showUnsent(); return; }
    sending = true;
    var first = kept.unsent[0], body = new URLSearchParams(first.fields);
    body.set("ago", ((now() - first.at) / 1000).toFixed(3));
    body.set("csrfmiddlewaretoken", form.querySelector("[name=csrfmiddlewaretoken]").value);
    fetch(form.action, { method: "POST", body: body, credentials: "same-origin" }).then(function (answer) {
      sending = false;
      if (answer.status === 422) { return answer.text().then(refused); }
      if (!answer.ok || answer.url.indexOf(form.dataset.sheet) < 0) { return held(answer); }
      kept.unsent.shift();
      if (!kept.unsent.length && step === "kept") { step = "closed"; save(); window.location.reload(); return; }
      save();
      send();
    }, function () { sending = false; closedHere(); showUnsent(); });
  }

  /* The server says no: what it says is shown, and what was refused is not sent again. */
  function refused(text) {
    var fault = new DOMParser().parseFromString(text, "text/html").querySelector("[data-fault]");
    kept.unsent.shift();
    if (step === "kept") { go("back"); }
    save();
    tell(fault ? fault.textContent.trim() : "That was refused.");
    showUnsent();
  }
  function held(answer) {
    closedHere();
    tell(answer.status < 500 ? "You are signed out, or somebody else is signed in here. Sign in in another tab, then come back to this one: nothing is lost, and nothing is sent under another name." : "The server is away. What you marked is kept here.");
    showUnsent();
  }

  /* An answer waits until it can no longer be undone, and no later than the next deed. */
  function settle() {
    if (!kept.waiting) { return; }
    var what = kept.waiting;
    kept.waiting = null;
    window.clearTimeout(settling);
    push(what);
  }
  function answered(deed) {
    var was = startedAt, doors = form.elements.wrong_doors, wrong = doors.value, took = elapsed();
    one("elapsed").value = took.toFixed(3);
    kept.waiting = packed(deed);
    kept.told = { number: current, words: form.querySelector("[data-do=" + deed + "]").textContent + ", " + clocked(took) + (Number(wrong) ? ", wrong places: " + wrong : "") };
    current = kept.current = current + 1;
    kept.startedAt = 0;
    doors.value = 0;
    go(current < things ? "opened" : "back");
    keepMarks();
    settling = window.setTimeout(settle, UNDO_MS);
    offerUndo(function () {
      window.clearTimeout(settling);
      kept.waiting = kept.told = null;
      current = kept.current = current - 1;
      startedAt = kept.startedAt = was;
      doors.value = wrong;
      go("running");
    });
  }

  var DEEDS = {
    start: function () { startedAt = kept.startedAt = now(); go("running"); },
    stop: function () { kept.stopped = true; one("elapsed").value = elapsed().toFixed(3); go("back"); },
    away: function () { kept.away = true; kept.wasLooking = isSingle && step === "running"; go("back"); },
    close: function () { step = kept.step = "kept"; closing = window.setTimeout(closedHere, PATIENCE_MS); }
  };
  /* Where the server takes it at once, the closed sheet is what is seen next. */
  function closedHere() { if (step === "kept") { go("kept"); } }

  function notBack() {
    var left = all("[data-back]:not([hidden]) input:not(:checked)").length;
    return left ? left + (left === 1 ? " door" : " doors") + " not ticked as back in place." : "";
  }

  form.addEventListener("submit", function (event) {
    event.preventDefault();
    var deed = event.submitter && event.submitter.dataset.do;
    if (!deed || step === "kept") { return; }
    isShort = false;
    tell("");
    if (deed === "close" && notBack()) { isShort = true; tell(notBack()); return; }
    settle();
    takeNoBack();
    if (!DEEDS[deed]) { answered(deed); return; }
    DEEDS[deed]();
    queue(deed);
  });

  function keepMarks() {
    kept.marks = {};
    all("input[name^=seen-]:checked, input[name^=at-], #wrong_doors, #comment").forEach(function (input) {
      kept.marks[input.name] = input.value;
    });
    save();
  }
  function restoreMarks() {
    Object.keys(kept.marks || {}).forEach(function (name) {
      all("[name='" + name + "']").forEach(function (input) {
        if (input.type === "radio") { input.checked = input.value === kept.marks[name]; }
        else { input.value = kept.marks[name]; }
      });
    });
  }

  function showUndo(isOffered) { all("[data-undo]").forEach(function (each) { each.hidden = !isOffered; }); }
  function takeNoBack() {
    window.clearTimeout(undoing);
    undo = null;
    showUndo(false);
  }

  /* For five seconds the last mark can be taken back by one button. */
  function offerUndo(takeBack) {
    undo = takeBack;
    showUndo(true);
    window.clearTimeout(undoing);
    undoing = window.setTimeout(takeNoBack, UNDO_MS);
  }

  var before = {};
  var lastMark = null;
  form.addEventListener("change", function (event) {
    lastMark = event.target;
    var input = event.target, number = input.name.slice(5), was = before[input.name] || "";
    if (input.name.indexOf("seen-") === 0) {
      var at = form.querySelector("[name='at-" + number + "']"), wasAt = at.value;
      at.value = elapsed().toFixed(1);
      before[input.name] = input.value;
      offerUndo(function () {
        all("[name='" + input.name + "']").forEach(function (each) { each.checked = each.value === was; });
        at.value = wasAt;
        before[input.name] = was;
      });
    }
    if (isShort && input.name === "back") { tell(notBack()); }
    count();
    keepMarks();
  });
  form.addEventListener("click", function (event) {
    var doors = form.querySelector("#wrong_doors");
    if (event.target.closest("[data-more]")) {
      lastMark = event.target.closest("[data-more]");
      var was = doors.value;
      doors.value = Number(was) + 1;
      offerUndo(function () { doors.value = was; });
      count();
      keepMarks();
    }
    if (event.target.closest("[data-undo]") && undo) {
      var takeBack = undo;
      takeNoBack();
      takeBack();
      if (lastMark && lastMark.offsetParent) { lastMark.focus({ preventScroll: true }); }
      count();
      keepMarks();
    }
  });

  /* A page loaded anew goes on where this phone was, while that has anything to send or the page
     came from it. */
  function isAhead() { return kept.step && (kept.unsent.length || document.body.dataset.kept); }
  function goOnSingly() {
    settle();
    if (isAhead()) { current = kept.current || current; step = kept.step; }
    else if (step !== "running") { kept.startedAt = 0; }
    if (kept.told && kept.told.number !== current - 1) { kept.told = null; }
    showThing();
  }

  window.addEventListener("online", send);
  document.addEventListener("visibilitychange", function () { if (!document.hidden) { send(); } });
  window.setInterval(send, RETRY_MS);
  window.addEventListener("beforeunload", function (event) {
    if ((kept.unsent.length || kept.waiting) && !document.body.dataset.leaves) { event.preventDefault(); }
  });

  one("more").hidden = false;
  startedAt = kept.startedAt || now();
  restoreMarks();
  if (isSingle) { goOnSingly(); }
  else if (isAhead()) { step = kept.step; }
  if (step === "opened" && kept.startedAt) { step = "running"; }
  if (step !== form.dataset.step || step === "running") { go(step); }
  if (step === "back") { showBack(); }
  send();
})();
