/* While a workbook is read, the page says which, how large it is, and for how long it has been.
   What is done of it is not known here: the server answers once, when all is stored or refused. */
(function () {
  "use strict";

  var form = document.querySelector("form[data-reading]");
  var told = form.querySelector("[role=status]"), button = form.querySelector("button");
  var words = button.textContent, counting = 0;

  function size(file) {
    return file.size < 1e5 ? Math.ceil(file.size / 1e3) + " kB" : (file.size / 1e6).toFixed(1) + " MB";
  }

  form.addEventListener("submit", function (event) {
    var file = form.querySelector("input[type=file]").files[0];
    if (button.getAttribute("aria-disabled")) { event.preventDefault(); return; }
    if (!file) { return; }
    var began = performance.now(), clock = document.createElement("span");
    clock.setAttribute("aria-hidden", "true");
    button.setAttribute("aria-disabled", "true");
    button.textContent = "Reading";
    told.textContent = "Reading " + file.name + ", " + size(file) + ". Large ones take some seconds. ";
    told.append(clock);
    counting = window.setInterval(function () {
      clock.textContent = Math.floor((performance.now() - began) / 1000) + " s so far.";
    }, 1000);
  });

  /* Coming back to the page, nothing is being read. */
  window.addEventListener("pageshow", function () {
    window.clearInterval(counting);
    button.removeAttribute("aria-disabled");
    button.textContent = words;
    told.textContent = "";
  });
}());
