/* Arrow keys on a drawing that is looked at: to the nearest compartment on that side, on its own
   face first. Enter opens it, since each is a link; without this file Tab reaches every one. */
(function () {
  "use strict";

  var CELLS = ".board.is-look .face .cell";
  var SIDES = {
    ArrowRight: function (at) { return { along: [at.left, at.right], across: [at.top, at.bottom] }; },
    ArrowLeft: function (at) { return { along: [-at.right, -at.left], across: [at.top, at.bottom] }; },
    ArrowDown: function (at) { return { along: [at.top, at.bottom], across: [at.left, at.right] }; },
    ArrowUp: function (at) { return { along: [-at.bottom, -at.top], across: [at.left, at.right] }; }
  };
  var TOUCHING = 2; /* px that two neighbours may overlap by, for their borders are rounded */

  function between(one, other) { return Math.max(other[0] - one[1], one[0] - other[1], 0); }
  function middle(span) { return (span[0] + span[1]) / 2; }

  /* Straight ahead before aside, near before far, and of equals the one whose middle is nearest. */
  function nearest(from, others, side) {
    var here = side(from.getBoundingClientRect()), best = null, least = Infinity;
    others.forEach(function (other) {
      var there = side(other.getBoundingClientRect());
      var gap = there.along[0] - here.along[1];
      if (other === from || gap < -TOUCHING) { return; }
      var aside = between(here.across, there.across);
      var off = Math.abs(middle(here.across) - middle(there.across));
      var cost = Math.max(gap, 0) + 3 * aside + off / 100;
      if (cost < least) { least = cost; best = other; }
    });
    return best;
  }

  function seen(cell) {
    return cell.checkVisibility ? cell.checkVisibility({ visibilityProperty: true }) : true;
  }

  document.addEventListener("keydown", function (event) {
    var side = SIDES[event.key], cell = event.target.closest && event.target.closest(CELLS);
    if (!side || !cell || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    var face = cell.closest(".face");
    var all = Array.from(document.querySelectorAll(CELLS)).filter(seen);
    var on = nearest(cell, all.filter(function (each) { return face.contains(each); }), side)
      || nearest(cell, all, side);
    event.preventDefault();
    if (on) { on.focus(); on.scrollIntoView({ block: "nearest", inline: "nearest" }); }
  });
})();
