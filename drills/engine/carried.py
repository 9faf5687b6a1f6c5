"""What a rig carries of medicines and of what doses are given with, for whoever makes a problem.

An item counts as what it is tied to. A tie that nobody has confirmed is kept apart, since nothing
assessed may rest on one; and a medicine counts for doses in its own strength alone: tied to a need
of another strength it serves kits and never a dose.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from drills.engine.devices import SYRINGES
from drills.engine.layout import Layout, StockLine
from drills.engine.packing import SAME, Packing, beside, meant_packing, own_packing, volume_in

# How crews write drops: `10 gtt/mL`, `60 drops per mL`.
_DROPS = re.compile(r"(?<![\d.,])(\d{1,3})\s*(?:gtts?|drops?)\s*(?:/|per)\s*mL\b", re.I)
# Letters of cylinders stand after *size*, before what holds the gas, or last.
_LETTER = re.compile(
    r"\b[Ss]ize ([A-Z]{1,2})\b|\b([A-Z]{1,2}) (?:tank|bottle|cylinder)s?\b|(?<= )([A-Z]{1,2})$"
)
_SYRINGE, _CYLINDER = "syringe", "oxygen cylinder"
# What is given as it comes: nothing is drawn up from it.
_GIVEN_AS_IT_IS = re.compile(r"\b(?:spray|auto-?injector|inhaler)", re.I)
# Less than any ampoule holds: ours, no source.
LEAST_DRAWN_ML = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class NeedSaid:
    """What a need says of itself. `medicine` is the key of the medicine it is, empty of anything
    else, and `spelt` its name in the other spelling."""

    key: str
    name: str
    size: str = ""
    medicine: str = ""
    spelt: str = ""

    @property
    def packing(self) -> Packing | None:
        """How a medicine or fluid is packed; None of anything else, and where it is not said."""
        return meant_packing(self.size, self.name, self.spelt) if self.medicine else None


@dataclass(frozen=True, slots=True)
class TakenFor:
    """What an item is taken for: a need by its key, or a medicine in the item's own strength.

    `holds` is how many of it one counted unit of the item is: 10 for a box of ten vials.
    """

    need: str = ""
    medicine: str = ""
    is_confirmed: bool = True
    holds: int = 1


@dataclass(frozen=True, slots=True)
class Carried:
    """One item of a rig, all its places together.

    `count` is par in single containers, `places` the codes of the compartments in the order of the
    workbook. `packing` is the item's own; where the item says none it is that of its need. `need`
    is empty for a medicine in its own strength. `serves_doses` is false for a medicine that is tied
    to a need of another strength, or whose strength nobody has written; `is_locked` is whether any
    of it lies behind a lock, where par is shown to signed-in crew alone.
    """

    item: str
    name: str
    need: str
    medicine: str
    packing: Packing | None
    count: int
    places: tuple[str, ...]
    is_confirmed: bool
    serves_doses: bool
    is_locked: bool


@dataclass(frozen=True, slots=True)
class Sized:
    """An item with the size it comes in: mL of a syringe or a bag, drops in a mL of a drip set."""

    size: Fraction
    carried: Carried


@dataclass(frozen=True, slots=True)
class Cylinder:
    """An oxygen cylinder with the letter of its size, empty where nobody says one."""

    letter: str
    carried: Carried


@dataclass(frozen=True)
class Aboard:
    """What a rig carries that is taken for anything, in the order of the workbook.

    Each list is read out of the names once: exercises ask for it at every draft.
    """

    items: tuple[Carried, ...]
    needs: Mapping[str, NeedSaid]
    names: Mapping[str, tuple[str, ...]]

    @cached_property
    def confirmed(self) -> "Aboard":
        """The same without what rests on a suggestion; for whatever is assessed."""
        return replace(self, items=tuple(each for each in self.items if each.is_confirmed))

    def of_medicine(self, medicine: str) -> tuple[Carried, ...]:
        """All that a dose of a medicine can be drawn from or given by, by the medicine's key."""
        if not medicine:
            return ()
        return tuple(each for each in self.items if each.medicine == medicine and each.serves_doses)

    def drawn_of(self, medicine: str) -> tuple[Carried, ...]:
        """What of a medicine can be drawn up: no auto-injector, tied to a need of no strength, and
        no spray."""
        return tuple(each for each in self.of_medicine(medicine) if self._is_drawn(each))

    def _is_drawn(self, each: Carried) -> bool:
        said = self._said(each)
        holds = each.packing.volume_ml if each.packing else None
        is_given = any(map(_GIVEN_AS_IT_IS.search, (*self.names[each.item], said.name)))
        has_strength = not each.need or said.packing is not None
        return has_strength and not is_given and (holds or LEAST_DRAWN_ML) >= LEAST_DRAWN_ML

    def of_need(self, need: str) -> tuple[Carried, ...]:
        """All that is the medicine of a need in exactly the strength of that need.

        Of a need without a strength, such as an auto-injector, it is what is tied to it alone, and
        no other need is served by that: nothing is drawn up from it.
        """
        said = self.needs.get(need)
        if said is None:
            return ()
        return tuple(
            each
            for each in self.of_medicine(said.medicine)
            if each.need == need or self._is_as_strong(each, said.packing)
        )

    def _is_as_strong(self, each: Carried, meant: Packing | None) -> bool:
        if meant is None or each.packing is None:
            return False
        tied = self.needs.get(each.need)
        is_drawn_up = tied is None or tied.packing is not None
        return is_drawn_up and beside(meant, each.packing).strength == SAME

    def for_kits_alone(self, medicine: str) -> tuple[Carried, ...]:
        """What is tied to a need of that medicine, and counts for no dose."""
        return tuple(
            each for each in self.items if each.medicine == medicine and not each.serves_doses
        )

    def syringes(self) -> tuple[Sized, ...]:
        """The empty syringes by how many mL they hold, the smallest first."""
        return self._syringes

    def syringes_without_marks(self) -> tuple[Carried, ...]:
        """The empty syringes of a size whose marks are in no table, or of none that is told."""
        known = {each.carried.item for each in self._syringes if each.size in SYRINGES}
        return tuple(
            each
            for each in self.items
            if each.item not in known and not self._said(each).medicine
            if self._said(each).name.casefold().startswith(_SYRINGE)
        )

    @cached_property
    def _syringes(self) -> tuple[Sized, ...]:
        return self._sized(volume_in, _SYRINGE)

    def drip_sets(self) -> tuple[Sized, ...]:
        """The drip sets by how many drops they make of a mL, the fewest first."""
        return self._drip_sets

    @cached_property
    def _drip_sets(self) -> tuple[Sized, ...]:
        return self._sized(_drops)

    def fluids(self) -> tuple[Sized, ...]:
        """The bags of plain fluid by how many mL they hold, the smallest first."""
        return self._fluids

    @cached_property
    def _fluids(self) -> tuple[Sized, ...]:
        found = (
            Sized(each.packing.volume_ml, each)
            for each in self.items
            if self._is_fluid(each) and each.packing and each.packing.volume_ml
        )
        return tuple(sorted(found, key=_by_size))

    def _is_fluid(self, each: Carried) -> bool:
        """By its need; in a strength of its own, by what is written on it."""
        packing = self._said(each).packing if each.need else each.packing
        return bool(each.medicine and each.serves_doses and packing and packing.is_fluid)

    def cylinders(self) -> tuple[Cylinder, ...]:
        """The oxygen cylinders by letter: the item's own, else that of its need."""
        return self._cylinders

    @cached_property
    def _cylinders(self) -> tuple[Cylinder, ...]:
        found = [
            Cylinder(self._letter(each), each)
            for each in self.items
            if _CYLINDER in self._said(each).name.casefold()
        ]
        return tuple(sorted(found, key=lambda each: (each.letter, each.carried.item)))

    def _letter(self, each: Carried) -> str:
        letters = list(filter(None, map(_letter, self.names[each.item])))
        return letters[0] if letters else self._said(each).size

    def _sized(self, read: Callable[[str], Fraction | None], kind: str = "") -> tuple[Sized, ...]:
        """Items of a kind of need by size: what the item says of itself before what its need does.

        A need is of the kind when its name begins so; what has no size is none of them.
        """
        found = [Sized(size, each) for each in self.items if (size := self._size(each, read, kind))]
        return tuple(sorted(found, key=_by_size))

    def _size(
        self, each: Carried, read: Callable[[str], Fraction | None], kind: str
    ) -> Fraction | None:
        said = self._said(each)
        of_need = read(said.size) or read(said.name)
        if of_need is None or said.medicine or not said.name.casefold().startswith(kind):
            return None
        return next(filter(None, map(read, self.names[each.item])), of_need)

    def _said(self, each: Carried) -> NeedSaid:
        return self.needs.get(each.need, NeedSaid("", ""))


def aboard(layout: Layout, taken: Mapping[str, TakenFor], needs: Iterable[NeedSaid] = ()) -> Aboard:
    """What a layout carries of what items are taken for; `taken` is by the key of the item."""
    said = {need.key: need for need in needs}
    lines: dict[str, list[StockLine]] = {}
    for line in layout.stock:
        if line.key in taken:
            lines.setdefault(line.key, []).append(line)
    return Aboard(
        items=tuple(_carried(layout, same, taken[key], said) for key, same in lines.items()),
        needs=said,
        names={key: (same[0].item, *same[0].aliases) for key, same in lines.items()},
    )


def _carried(
    layout: Layout, lines: list[StockLine], taken: TakenFor, needs: Mapping[str, NeedSaid]
) -> Carried:
    first, need = lines[0], needs.get(taken.need, NeedSaid("", "", medicine=taken.medicine))
    own, meant = own_packing(first.presentation, first.item), need.packing
    return Carried(
        item=first.key,
        name=first.item,
        need=taken.need,
        medicine=need.medicine,
        packing=own or (None if first.presentation else meant),
        count=taken.holds * sum(line.par for line in lines),
        places=tuple(dict.fromkeys(line.compartment for line in lines)),
        is_confirmed=taken.is_confirmed,
        serves_doses=bool(need.medicine) and _serves_doses(first.presentation, own, meant),
        is_locked=any(layout.is_locked(line.compartment) for line in lines),
    )


def _serves_doses(presentation: str, own: Packing | None, meant: Packing | None) -> bool:
    """Whether an item's strength is known, and that of its need where the need has one."""
    if own is None:
        return meant is not None and not presentation
    return meant is None or beside(own, meant).strength == SAME


def _by_size(each: Sized) -> tuple[Fraction, str]:
    return each.size, each.carried.item


def _drops(text: str) -> Fraction | None:
    found = set(_DROPS.findall(text))
    return Fraction(found.pop()) if len(found) == 1 else None


def _letter(text: str) -> str:
    match = _LETTER.search(text)
    return next(filter(None, match.groups()), "") if match else ""
