/* Between the pages of runs and the network: whatever the network answers is what is shown, always.
   Only where there is none, an open sheet comes as this browser kept it, and in place of any other
   page one that says so. It keeps nothing but that one page; signal.js keeps the sheets. */
(function () {
  "use strict";

  var NONE = "no signal", PAGE = "/runs/no-signal/", DAY_MS = 86400000;

  function drawnWith(html) {
    return Array.from(html.matchAll(/(?:src|href)="(\/static\/[^"]+)"/g), function (found) { return found[1]; });
  }
  function keepPage() {
    return Promise.all([caches.open(NONE), fetch(PAGE, { credentials: "omit" })]).then(function (both) {
      var kept = both[0], answer = both[1];
      return Promise.all([kept.put(PAGE, answer.clone()), answer.text()]).then(function (done) {
        return kept.addAll(drawnWith(done[1]));
      });
    });
  }

  /* A page that was kept obeys the same policy as one that was sent. */
  function guarded(page) {
    return caches.match(PAGE).then(function (none) {
      if (!page) { return none || Response.error(); }
      var headers = new Headers(page.headers), policy = "Content-Security-Policy";
      headers.set(policy, (none && none.headers.get(policy)) || "default-src 'none'");
      return new Response(page.body, { headers: headers });
    });
  }
  /* A sheet is shown to who kept it, as long as nobody else was at the screen since, for a day. */
  function keptPage(path) {
    return caches.match("/owner", { cacheName: "screen" }).then(function (noted) {
      return noted ? noted.text() : "";
    }).then(function (owner) {
      return owner && caches.match(path, { cacheName: "sheet " + owner + " " + path });
    }).then(function (page) {
      var isOf = page && Date.now() - Number(page.headers.get("X-Kept-At")) < DAY_MS;
      return guarded(isOf ? page : null);
    });
  }

  self.addEventListener("install", function (event) { self.skipWaiting(); event.waitUntil(keepPage()); });
  self.addEventListener("activate", function (event) { event.waitUntil(self.clients.claim()); });
  self.addEventListener("fetch", function (event) {
    var request = event.request, url = new URL(request.url);
    if (request.method !== "GET" || url.origin !== self.location.origin) { return; }
    if (request.mode === "navigate") {
      event.respondWith(fetch(request).catch(function () { return keptPage(url.pathname); }));
    } else if (url.pathname.indexOf("/static/") === 0) {
      event.respondWith(fetch(request).catch(function () {
        return caches.match(request.url).then(function (kept) { return kept || Response.error(); });
      }));
    }
  });
})();
