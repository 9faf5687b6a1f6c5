"""What the items of a revision are tied to, as its keeper reads it: line by line, with packs."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from drills.rigs.models import MOST_IN_A_PACK, ItemTerms, Need, PackFactor, TieDecision
from drills.rigs.strengths import apart, in_another_volume
from drills.rigs.ties import Tie, decision_on, holds_of

NOT_THERE = "“{}” came in. Only what is tied on this layout is counted in packs."
OTHERWISE = "{} is tied or counted otherwise by now. Nothing is stored: look again."
NO_NUMBER = "“{}” came in for {}. A whole number from 1 to {} is accepted."


@dataclass(frozen=True, slots=True)
class TiedLine:
    """An item with what it is tied to or decided to be.

    `strengths` are both in words where the need is of another; doses never count that. `volumes`
    are where it is as strong and of another volume. `holds` is how many one counted unit is.
    """

    terms: ItemTerms
    need: Need | None
    rule: str
    decision: TieDecision | None
    strengths: str
    volumes: str
    holds: int

    @property
    def medicine(self) -> str:
        """The medicine it is in a strength of its own, in words; empty where it is tied."""
        decided = self.decision
        return decided.medicine.replace("-", " ") if decided and not self.need else ""

    @property
    def is_confirmed_apart(self) -> bool:
        """Whether a keeper said twice that it is tied across just these strengths."""
        return self.decision is not None and self.decision.strengths == self.strengths

    @property
    def counts(self) -> bool:
        """Whether it is counted for anything, and so may be counted in packs."""
        return self.need is not None or bool(self.medicine)

    @property
    def key(self) -> str:
        """The key of the need that a pack is said of; empty for a strength of its own."""
        return self.need.key if self.need else ""

    @property
    def unit(self) -> str:
        """What one of it is called; a unit of a medicine is another thing."""
        unit = self.terms.unit
        return "piece" if unit.casefold() in ("", "each") else unit

    @property
    def stale(self) -> PackFactor | None:
        """What was said of it when it was counted or tied otherwise, where nothing is by now."""
        factors = [each for each in self.terms.item.pack_factors.all() if each.holds > 1]
        unit = self.terms.unit.casefold()
        if any((each.need, each.unit) == (self.key, unit) for each in factors):
            return None
        return factors[0] if factors else None


@dataclass(frozen=True, slots=True)
class Pack:
    """What came in of a pack: of which line, and how many one is."""

    line: TiedLine
    holds: int


def tied_lines(
    rows: Iterable[ItemTerms], ties: Mapping[str, Tie], needs: Mapping[str, Need]
) -> list[TiedLine]:
    """A line for each item that is tied or decided on."""
    return [
        _line(row, tie, needs)
        for row in rows
        if (tie := ties.get(row.item.key)) or decision_on(row)
    ]


def _line(row: ItemTerms, tie: Tie | None, needs: Mapping[str, Need]) -> TiedLine:
    need = needs[tie.need] if tie else None
    return TiedLine(
        terms=row,
        need=need,
        rule=tie.rule if tie else "",
        decision=decision_on(row) if row.need_id is None else None,
        strengths=apart(row, need),
        volumes=in_another_volume(row, need),
        holds=tie.holds if tie else holds_of(row, ""),
    )


def read_pack(posted: Mapping[str, str], lines: Iterable[TiedLine]) -> Pack:
    """The line and the number that came in; `ValueError` says what is wrong with them.

    A form says of which need and unit it asked, since another keeper may have decided meanwhile.
    """
    item = posted.get("pack", "")
    line = next((each for each in lines if str(each.terms.item_id) == item and each.counts), None)
    if line is None:
        raise ValueError(NOT_THERE.format(item[:40]))
    if (posted.get("of", ""), posted.get("unit", "")) != (line.key, line.terms.unit):
        raise ValueError(OTHERWISE.format(line.terms.name))
    holds = _whole(posted.get("holds", "").strip())
    if not 1 <= holds <= MOST_IN_A_PACK:
        came = posted.get("holds", "").strip()[:40]
        raise ValueError(NO_NUMBER.format(came, line.terms.name, MOST_IN_A_PACK))
    return Pack(line, holds)


def _whole(text: str) -> int:
    """A whole number in figures, 0 for anything else; more figures than are kept are not read."""
    is_number = text.isascii() and text.isdigit() and len(text) <= len(str(MOST_IN_A_PACK))
    return int(text) if is_number else 0
