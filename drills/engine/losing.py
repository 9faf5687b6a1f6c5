"""Where one's own way to a kit lost its time, in words: a line for each loss, and what it cost."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drills.engine.calls import USEFUL
from drills.engine.layout import Layout
from drills.engine.optimum.losses import (
    AGAIN,
    BAG,
    BESIDE,
    COT,
    FARTHER,
    INSIDE_AGAIN,
    MISSING,
    OPEN,
    ORDER,
    TRIPS,
    WHOLE,
    Loss,
)
from drills.engine.optimum.own import Leg
from drills.engine.wanted import Wanted
from drills.engine.ways import in_seconds, visits_of

# Of more things in a line nobody reads the rest.
_NAMED = 4


@dataclass(frozen=True, slots=True)
class LostLine:
    """A loss: the numbers of the visits it was lost on, its words, and its time in cs.

    None is numbered that is of the whole way, such as its order.
    """

    numbers: tuple[int, ...]
    words: str
    cs: int

    @property
    def seconds(self) -> str:
        """Its time in seconds, with a sign."""
        return in_seconds(self.cs, is_signed=True)


def lost_lines(
    layout: Layout,
    losses: Sequence[Loss],
    own: Sequence[Leg],
    *,
    end: int,
    total_cs: int,
    wanted: Sequence[Wanted] = (),
) -> tuple[LostLine, ...]:
    """A line for each loss in the order of one's own way, what is of the whole way last.

    Times are whole tenths of a second and add up to the total, which is one: what rounding leaves
    is told with the greatest.
    """
    stops = [stop for stop, _ in visits_of(own) if stop != end]
    words = _Words(layout, wanted, own)
    found = []
    for loss in losses:
        numbers = tuple(n for n, stop in enumerate(stops, 1) if stop == loss.stop)
        tenths = round(loss.cs / 10) * 10
        found.append(LostLine(_shown(loss, numbers), words.of(loss), tenths))
    found.sort(key=lambda line: line.numbers[:1] or (len(stops) + 1,))
    if found:
        most = max(range(len(found)), key=lambda at: abs(found[at].cs))
        over = total_cs - sum(line.cs for line in found)
        found[most] = replace(found[most], cs=found[most].cs + over)
    return tuple(line for line in found if line.cs)


def _shown(loss: Loss, numbers: tuple[int, ...]) -> tuple[int, ...]:
    """Of a second walk back the later ones count; else the first is enough."""
    return numbers[1:] if loss.kind == AGAIN else numbers[:1]


@dataclass(frozen=True, slots=True)
class _Words:
    layout: Layout
    wanted: Sequence[Wanted]
    own: Sequence[Leg]

    def of(self, loss: Loss) -> str:
        """What was lost, and what would have been quicker."""
        there, instead = self._places(loss.places), self._places(loss.instead)
        things = self._things(loss.things)
        plain = {
            AGAIN: f"A second walk back: {there} could be had the first time here",
            INSIDE_AGAIN: f"In and out of the rig again: {there} could be had the first time",
            COT: f"Carried by hand: {instead} takes what hands cannot on one walk",
            TRIPS: "More than two walks back to the patient with full hands",
            BAG: f"Not taken whole: {instead}. Inside: {things}",
            WHOLE: f"Taken whole: {there}. Quicker: {things} out of {instead or 'elsewhere'}",
            OPEN: f"Opened needlessly: {there}. In {instead}, opened anyway: {things}",
            FARTHER: f"The slower of two sources: {there}. Quicker out of {instead}: {things}",
            MISSING: "What was not brought would have taken its time too",
        }
        if loss.kind == ORDER:
            tops = (self.layout.chain(code)[0].code for code in loss.instead)
            return f"{self._order(loss)} {', '.join(dict.fromkeys(tops))}."
        if loss.kind == BESIDE:
            return f"{self._beside(loss)}."
        if loss.kind == FARTHER and not loss.instead:
            return f"Slower than it need be: {things} out of {there}."
        other = f"Other things serve as well, and take less: out of {instead}"
        return f"{plain.get(loss.kind, other)}."

    def _order(self, loss: Loss) -> str:
        first = next(leg.code for leg in self.own if leg.place)
        begun = self.layout.chain(first)[0]
        better = self.layout.chain(loss.instead[0])[0]
        wrong = "Wrong order" if begun == better else "Wrong opening first"
        return f"{wrong}. The same places take less in the order"

    def _beside(self, loss: Loss) -> str:
        useful = {thing for e in self.wanted if e.grade == USEFUL for thing in e.serving}
        things, (code,) = self._things(loss.things), loss.places
        if self.layout.by_code[code].is_bag:
            bag = self._places((code,))
            return f"Carried beside the must-haves, no fault if it may be needed: {bag}"
        if useful.issuperset(loss.things):
            return f"Useful, and left out of the quickest way: {things}"
        return f"Beside the must-haves: {things}"

    def _places(self, codes: Sequence[str]) -> str:
        return _listed([f"{code} {self.layout.by_code[code].name}" for code in codes])

    def _things(self, keys: Sequence[str]) -> str:
        return _listed([self.layout.things[key].name for key in keys])


def _listed(names: Sequence[str]) -> str:
    """Names in a row, which may have commas of their own; of many the last ones as a number."""
    if len(names) > _NAMED:
        names = [*names[: _NAMED - 1], f"{len(names) - _NAMED + 1} more"]
    return "; ".join(names)
