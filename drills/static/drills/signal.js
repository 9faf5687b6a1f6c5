/* What this browser keeps of an open sheet, so that it comes back when it is loaded anew without
   signal: the page itself and what it is drawn with, with nobody's name in it. It is forgotten when
   the sheet is closed, when anybody else is at the screen, or nobody, and a day after it came. Who is
   at the screen is noted, by their mark alone: without-signal.js shows a page to nobody else. */
(function () {
  "use strict";

  if (!("caches" in window) || !("serviceWorker" in navigator)) { return; }
  var WORKER = "/runs/without-signal.js", KEPT = "sheet ", SCREEN = "screen", OWNER = "/owner";
  var AT = "X-Kept-At", DAY_MS = 86400000;
  var owner = document.body.dataset.owner || "", since = Number(document.body.dataset.kept);
  var form = document.querySelector("form[data-sheet]");
  var mine = KEPT + owner + " ", own = mine + window.location.pathname;

  /* Pages of others go; of one's own, all but those that are still to be had. */
  function forget(isToGo) {
    return caches.keys().then(function (names) {
      return Promise.all(names.filter(function (name) {
        return name.indexOf(KEPT) === 0 && isToGo(name);
      }).map(function (name) { return caches.delete(name); }));
    });
  }
  function all() { return true; }
  function forgetOld(names) {
    return Promise.all(names.map(function (name) {
      return caches.match(name.slice(mine.length), { cacheName: name }).then(function (page) {
        return page && Date.now() - Number(page.headers.get(AT)) < DAY_MS ? false : caches.delete(name);
      });
    }));
  }
  function note() {
    return caches.open(SCREEN).then(function (screen) { return screen.put(OWNER, new Response(owner)); });
  }

  /* The page as it came, without whoever it is about and without what lies behind a lock. */
  function nameless() {
    var copy = document.documentElement.cloneNode(true);
    copy.querySelectorAll("[data-unkept]").forEach(function (each) { each.remove(); });
    copy.querySelectorAll("title, textarea, #status").forEach(function (each) { each.textContent = ""; });
    copy.querySelector("title").textContent = "Hands-on";
    copy.querySelector("body").dataset.kept = String(Date.now());
    return "<!doctype html>" + copy.outerHTML;
  }
  function drawnWith() {
    return Array.from(document.querySelectorAll("script[src], link[href]")).map(function (each) {
      return each.src || each.href;
    });
  }
  function keep() {
    var headers = { "Content-Type": "text/html; charset=utf-8" };
    headers[AT] = String(Date.now());
    var page = new Response(nameless(), { headers: headers });
    return caches.open(own).then(function (kept) {
      return kept.addAll(drawnWith()).then(function () { return kept.put(window.location.pathname, page); });
    }).then(function () { document.body.dataset.keeps = "page"; });
  }

  function tellKept() {
    var line = document.getElementById("status"), words = document.createElement("p");
    var at = new Date(since).toTimeString().slice(0, 5);
    words.textContent = "No signal. This is the sheet as this phone kept it at " + at + ", without names. Go on: what you press is kept here and sent when there is signal.";
    line.append(words);
  }

  document.addEventListener("submit", function (event) {
    if (event.target.dataset.leaves) { forget(all); }
  });

  if (since) { tellKept(); return; }
  note().then(function () {
    return forget(function (name) { return !owner || name.indexOf(mine) !== 0 || (!form && name === own); });
  }).then(function () { return caches.keys(); }).then(function (names) {
    return forgetOld(names.filter(function (name) { return owner && name.indexOf(mine) === 0 && name !== own; }));
  }).catch(function () { return null; });
  if (document.querySelector("form[data-sheet], form[data-run]")) {
    navigator.serviceWorker.register(WORKER, { scope: "/runs/" }).catch(function () { return null; });
  }
  if (form && owner) { keep().catch(function () { return null; }); }
})();
