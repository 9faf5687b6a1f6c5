/* Presses of a sheet at the open doors that this phone keeps and has not sent. Whoever leaves the
   screen, or comes to it, is asked first; the officer who kept the sheet is led back to it. */
(function () {
  "use strict";

  var dialog = document.querySelector("[data-unsent-ask]"), leaving = null;
  if (!dialog || !dialog.showModal) { return; }

  function boxes() {
    var found = [];
    try {
      for (var at = 0; at < localStorage.length; at += 1) {
        var name = localStorage.key(at);
        if (name.indexOf("sheet ") !== 0) { continue; }
        var kept = JSON.parse(localStorage.getItem(name));
        if (kept && waiting(kept)) { found.push(kept); }
      }
    } catch (error) { return found; }
    return found;
  }
  /* An answer that can still be undone is not sent either. */
  function waiting(kept) { return (kept.unsent || []).length + (kept.waiting ? 1 : 0); }
  function many(found) { return found.reduce(function (sum, each) { return sum + waiting(each); }, 0); }
  function counted(number, word, words) { return number + " " + (number === 1 ? word : words); }
  function said(found) {
    return counted(many(found), "press", "presses") + " of " + counted(found.length, "sheet", "sheets") + " at the rig " + (many(found) === 1 ? "is" : "are") + " not sent yet.";
  }
  function own(found) {
    var mine = document.body.dataset.owner;
    return found.filter(function (each) { return mine && each.by === mine && each.page; });
  }

  /* The way back to a sheet of one's own; on the sheet itself its own line says so. */
  function lead(link, found) {
    var mine = own(found);
    link.hidden = !mine.length || mine[0].page === window.location.pathname;
    if (mine.length) { link.href = mine[0].page; }
  }

  document.addEventListener("submit", function (event) {
    var form = event.target, found = boxes();
    if (!form.dataset.leaves || form === leaving || !found.length) { return; }
    event.preventDefault();
    event.stopImmediatePropagation();
    dialog.querySelector("[data-unsent-count]").textContent = said(found);
    dialog.querySelector("[data-unsent-go]").textContent = form.dataset.leaves;
    lead(dialog.querySelector("[data-unsent-open]"), found);
    leaving = form;
    dialog.showModal();
  }, true);
  dialog.querySelector("[data-unsent-go]").addEventListener("click", function () {
    var form = leaving;
    document.body.dataset.leaves = "asked";
    dialog.close();
    form.requestSubmit();
  });
  dialog.querySelector("[data-unsent-stay]").addEventListener("click", function () { dialog.close(); });
  dialog.addEventListener("close", function () { leaving = null; });

  var line = document.querySelector("[data-unsent-own]"), mine = own(boxes());
  if (line && mine.length && mine[0].page !== window.location.pathname) {
    line.querySelector("span").textContent = said(mine);
    line.querySelector("a").href = mine[0].page;
    line.hidden = false;
  }
})();
