"""Needs that are the medicine of an item in another strength or volume: never suggested as the
same, and shown so that a keeper knows why nothing is.

A medicine is known by the words of its names alone, never by likeness: dopamine and dobutamine,
ephedrine and epinephrine are alike and are not the same.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from drills.engine.layout import CATEGORIES
from drills.engine.packing import OTHER, SAME, Packing, beside, meant_packing, own_packing
from drills.engine.suggestions import SizedNeed, Untied
from drills.engine.ties import plain

STRENGTH, VOLUME, UNSAID = "strength", "volume", "unsaid"
MEDICINES = "medicines"
# Words of how a medicine comes, which say nothing of which it is.
_FORMS = re.compile(
    r"vials?|ampou?les?|amps?|syringes?|prefilled|cardiac|bags?|tablets?|kits?|bottle|box|tube|"
    r"nebule|inhalation|powder|multi|dose|premixed|chewable|dissolving|emergency|half|full|strength|"
    r"mg|ml|mcg|g|l|cc|meq|mmol|units?|iu|lit(?:re|er)|of|and|with|in|per|"
    r"adults?|child|pa?ediatric|infant|.*\d.*"
)
_LETTERS = re.compile("[A-Z]{2,}")  # TXA, GTN: letters that stand for a name
_SHORTEST = 3  # letters of a word cut short, such as epi; common practice, no source


@dataclass(frozen=True, slots=True)
class Near:
    """A need that is the same medicine as an item, and how the two are packed, in words.

    `kind` is another strength, the same strength in another volume, or unsaid where nobody wrote
    how the item is packed.
    """

    need: str
    medicine: str
    kind: str
    here: str
    there: str


class SameMedicine:
    """Finds the needs that are the medicine of an item, packed otherwise."""

    def __init__(self, needs: Iterable[SizedNeed]) -> None:
        self._needs = [
            _Known(need, packing)
            for need in needs
            if need.words.medicine
            and (packing := meant_packing(need.words.packed, *need.words.names))
        ]

    def near(self, item: Untied) -> list[Near]:
        """By key, those of the same strength alone where there are any; none where a need is
        packed as the item is, since that one is suggested, or where it is of another category."""
        own = own_packing(item.presentation, item.name)
        same = [need for need in self._needs if need.is_medicine_of(item)]
        if any(need.words.is_packed_as(item.presentation) for need in same):
            return []
        found = [near for need in same if (near := need.beside(item, own))]
        nearest = [near for near in found if near.kind == VOLUME] or found
        return sorted(nearest, key=lambda near: near.need)


class _Known:
    """A medicine among the needs, its words taken apart once."""

    def __init__(self, need: SizedNeed, packing: Packing) -> None:
        self.words, self.packing, self._category = need.words, packing, need.category

    @cached_property
    def _called(self) -> list[frozenset[str]]:
        """What it is called, each as a set of words: its names, and aliases that are those cut
        short or letters. Other aliases may be words of a kind, such as benzo."""
        names = [_named(text) for text in (*self.words.names, self.words.medicine)]
        full = frozenset().union(*names)
        short = [
            found
            for alias in self.words.aliases
            if (found := _named(alias)) and (_LETTERS.fullmatch(alias) or _is_short(found, full))
        ]
        return [found for found in (*names, *short) if found]

    def is_medicine_of(self, item: Untied) -> bool:
        categories = {item.category, self._category}
        if len(categories) == 2 and categories <= set(CATEGORIES):
            return False
        texts = [_named(text) for text in (item.name, *item.aliases)]
        return any(called <= words for called in self._called for words in texts)

    def beside(self, item: Untied, own: Packing | None) -> Near | None:
        """How the item is packed beside it; None where neither says enough to speak of it."""
        if own is None:
            is_open = item.category == MEDICINES and not item.presentation
            return self._near(UNSAID, "", self.packing.strength) if is_open else None
        if beside(own, self.packing).strength == OTHER:
            return self._near(STRENGTH, own.strength, self.packing.strength)
        return self._near(VOLUME, _in_volume(own), _in_volume(self.packing))

    def _near(self, kind: str, here: str, there: str) -> Near:
        return Near(self.words.key, self.words.medicine, kind, here, there)


def strengths_apart(own: Packing | None, meant: Packing | None) -> str:
    """Both strengths in words where an item is known to be of another than its need; else empty."""
    if own is None or meant is None or beside(own, meant).strength == SAME:
        return ""
    return f"{own.strength} here, {meant.strength} there"


def volumes_apart(own: Packing | None, meant: Packing | None) -> str:
    """Both volumes in words where the strength is the same and the volume another; else empty."""
    if own is None or meant is None or strengths_apart(own, meant):
        return ""
    return f"{own.volume} here, {meant.volume} there" if beside(own, meant).volume == OTHER else ""


def _in_volume(packing: Packing) -> str:
    if packing.is_fluid:
        return packing.volume
    if not packing.volume:
        return packing.strength
    return f"{packing.strength} in {packing.volume}"


def _is_short(short: frozenset[str], full: Iterable[str]) -> bool:
    names: Sequence[str] = list(full)
    return all(
        len(word) >= _SHORTEST and any(name.startswith(word) for name in names) for word in short
    )


def _named(text: str) -> frozenset[str]:
    """The words of a text that say which medicine it is: no form, no figure."""
    words = plain(text).split()
    return frozenset(word for word in words if not _FORMS.fullmatch(word))
