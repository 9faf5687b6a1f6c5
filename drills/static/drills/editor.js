/* Moving and stretching the compartment that is chosen, by pointer or by keys. What is sent are the
   buttons and fields of the form beside it, so nothing here knows a rule. */
(function () {
  "use strict";

  var ARROWS = {
    ArrowLeft: ["left", "narrower"], ArrowRight: ["right", "wider"],
    ArrowUp: ["up", "shorter"], ArrowDown: ["down", "taller"]
  };
  var WIDE = 24, HIGH = 12, drag = null;

  function pad() { return document.getElementById("nudge"); }
  function side(name) { return pad().querySelector('[data-side="' + name + '"]'); }
  function between(least, value, most) { return Math.max(least, Math.min(value, most)); }

  function greet() {
    document.querySelectorAll("[data-keys]").forEach(function (each) { each.hidden = false; });
    var panel = document.getElementById("panel");
    if (panel && /[?&](at|line|point|new)=/.test(location.search)
        && panel.getBoundingClientRect().top > window.innerHeight * 0.8) {
      panel.scrollIntoView({ block: "start" });
    }
  }

  document.addEventListener("keydown", function (event) {
    var typing = event.target.closest("input, select, textarea");
    if (!event.shiftKey || !ARROWS[event.key] || typing || !pad()) { return; }
    event.preventDefault();
    document.getElementById("nudge-" + ARROWS[event.key][event.ctrlKey ? 1 : 0]).click();
  });

  function draw(rect) {
    drag.cell.className = drag.cell.className.replace(/\b[xywh]\d+\b/g, "").trim()
      + " x" + rect.x + " y" + rect.y + " w" + rect.w + " h" + rect.h;
    drag.now = rect;
  }

  document.addEventListener("pointerdown", function (event) {
    var cell = event.target.closest("[data-drag]");
    if (!cell || !pad() || event.button) { return; }
    var face = cell.closest(".face").getBoundingClientRect(), at = {};
    ["x", "y", "w", "h"].forEach(function (name) { at[name] = Number(side(name).value); });
    drag = {
      cell: cell, at: at, now: at, sizes: event.target.hasAttribute("data-size"),
      from: [event.clientX, event.clientY], unit: [face.width / WIDE, face.height / HIGH]
    };
    cell.setPointerCapture(event.pointerId);
  });

  document.addEventListener("pointermove", function (event) {
    if (!drag) { return; }
    var across = Math.round((event.clientX - drag.from[0]) / drag.unit[0]);
    var down = Math.round((event.clientY - drag.from[1]) / drag.unit[1]), at = drag.at;
    draw(drag.sizes
      ? { x: at.x, y: at.y, w: between(1, at.w + across, WIDE - at.x), h: between(1, at.h + down, HIGH - at.y) }
      : { x: between(0, at.x + across, WIDE - at.w), y: between(0, at.y + down, HIGH - at.h), w: at.w, h: at.h });
  });

  function end(event) {
    if (!drag) { return; }
    var moved = ["x", "y", "w", "h"].some(function (name) { return drag.now[name] !== drag.at[name]; });
    if (!moved || event.type === "pointercancel") { draw(drag.at); drag = null; return; }
    ["x", "y", "w", "h"].forEach(function (name) { side(name).value = drag.now[name]; });
    drag.cell.addEventListener("click", function (click) {
      click.preventDefault(); click.stopImmediatePropagation();
    }, { once: true, capture: true });
    drag = null;
    pad().requestSubmit();
  }
  document.addEventListener("pointerup", end);
  document.addEventListener("pointercancel", end);
  document.addEventListener("htmx:afterSettle", greet);
  greet();
})();
