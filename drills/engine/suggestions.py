"""Needs that an item without a tie may be: a guess for its keeper, never a tie."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from rapidfuzz import fuzz

from drills.engine.layout import CATEGORIES
from drills.engine.ties import NeedWords, plain

# Of what waits on the demonstration layouts every likest need above this is the right one; on a
# workbook written with other words it is not, so a keeper confirms each.
SUGGESTED_FROM = 0.5
# From here on a suggestion may be confirmed among many; ours, no source.
SURE_FROM = 0.8

ADULT, CHILD, INFANT = "adult", "child", "infant"
_PATIENTS = {
    ADULT: re.compile(r"\badults?\b"),
    CHILD: re.compile(
        r"\b(child(ren)?('s)?|pa?ediatrics?|pa?edi?s?|kids?('s)?|youths?|toddlers?|bairns?)\b"
    ),
    INFANT: re.compile(
        r"\b(infants?|bab(y|ies)|neos?|neonat\w*|newborns?|pree?mies?|prems?|premature)\b"
    ),
}
_THOUSANDS = r"[1-9]\d{0,2}(?:,\d{3})+(?!\d)(?:\.\d+)?"
_NUMBER = rf"{_THOUSANDS}|\d+(?:[.,]\d+)?"  # a comma before three digits parts thousands
_UNITS = "mL|cc|L|mcg|mg|g|mm|cm|inch(?:es)?|in|gauge|ga|French|Fr|Ch"
_MEASURE = re.compile(rf"({_NUMBER})(?:\s*-\s*({_NUMBER}))?\s*({_UNITS})\b", re.I)
_AS = {
    "french": ("fr", 1),
    "ch": ("fr", 1),
    "gauge": ("ga", 1),
    "inch": ("in", 1),
    "inches": ("in", 1),
    "cm": ("mm", 10),
    "cc": ("ml", 1),
    "l": ("ml", 1000),
    "mcg": ("mg", Decimal("0.001")),
    "g": ("mg", 1000),
}
_GAUGES = range(10, 31)  # a capital G after one of these is no gram; common practice, no source


@dataclass(frozen=True, slots=True)
class SizedNeed:
    """A need's words with what keeps it from being taken for another."""

    words: NeedWords
    category: str = ""
    size: str = ""


@dataclass(frozen=True, slots=True)
class Untied:
    """An item that no rule ties."""

    name: str
    aliases: tuple[str, ...] = ()
    category: str = ""
    presentation: str = ""


SAME_CATEGORY = "the same category"


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A need by its key, how alike the words are (0 nothing, 1 the same), and what was compared
    beside them, in words. `is_size_unsaid` where the need is of a patient's size and the item
    says none, as a child's is when its maker's word for it is not known here."""

    need: str
    similarity: float
    guards: tuple[str, ...] = ()
    is_size_unsaid: bool = False


class Suggester:
    """Ranks the needs that an item may be."""

    def __init__(self, needs: Iterable[SizedNeed]) -> None:
        self._needs = [_Known(need) for need in needs]

    def suggest(self, item: Untied) -> list[Suggestion]:
        """The needs alike enough, the likest first.

        Never of a medicine that is packed otherwise than the item, or that has no presentation.
        Never of another category, where both have one of the ten; of an adult's, a child's and an
        infant's never one for another; never of a measure that does not meet in the same unit. Of
        two that are alike to the same degree the one of the size said comes first; where none is
        said, the adult's, whose size crews leave unsaid.
        """
        sought = _Sought(item)
        ranked = sorted(
            (-_similarity(sought.words, need.texts), sought.is_unlike(need), need.key, need)
            for need in self._needs
            if sought.may_be(need)
        )
        return [
            Suggestion(key, -less, sought.guards(need), sought.leaves_size_unsaid(need))
            for less, _, key, need in ranked
            if -less >= SUGGESTED_FROM
        ]


class _Known:
    """A need, its words taken apart once."""

    def __init__(self, need: SizedNeed) -> None:
        self.key, self.words = need.words.key, need.words
        self.category = need.category
        self.texts = _plain((*need.words.names, *need.words.aliases))
        self.patients = patients_of(need.size, *need.words.names)
        self.measures = measures_of(need.size or need.words.names[0])


class _Sought:
    """An item, its words taken apart once."""

    def __init__(self, item: Untied) -> None:
        self._item = item
        self.words = _plain((item.name, *item.aliases))

    @cached_property
    def _patients(self) -> frozenset[str]:
        return patients_of(self._item.name) or patients_of(*self._item.aliases)

    @cached_property
    def _measures(self) -> dict[str, frozenset[Decimal]]:
        return measures_of(self._item.presentation) or measures_of(self._item.name)

    def may_be(self, need: _Known) -> bool:
        if not need.words.is_packed_as(self._item.presentation):
            return False
        categories = {self._item.category, need.category}
        if len(categories) == 2 and categories <= set(CATEGORIES):
            return False
        if self._patients and need.patients and self._patients.isdisjoint(need.patients):
            return False
        shared = self._measures.keys() & need.measures.keys()
        return all(_meet(self._measures[unit], need.measures[unit]) for unit in shared)

    def guards(self, need: _Known) -> tuple[str, ...]:
        """What kept a need from being ruled out: category, whose size, measures, packing."""
        known = need.category in CATEGORIES and self._item.category == need.category
        said = (
            SAME_CATEGORY if known else "category not compared",
            self._sizes_compared(need),
            self._measures_compared(need),
            "packed alike" if need.words.packed else "",
        )
        return tuple(filter(None, said))

    def _sizes_compared(self, need: _Known) -> str:
        if self._patients and need.patients:
            return f"both {' and '.join(sorted(self._patients & need.patients))}"
        if need.patients:
            return f"the item does not say {' or '.join(sorted(need.patients))}"
        return f"the need does not say {' or '.join(sorted(self._patients))}" * bool(self._patients)

    def _measures_compared(self, need: _Known) -> str:
        if shared := sorted(self._measures.keys() & need.measures.keys()):
            return f"measures meet in {', '.join(shared)}"
        return "the item says no such measure" * bool(need.measures)

    def leaves_size_unsaid(self, need: _Known) -> bool:
        return bool(need.patients) and not self._patients

    def is_unlike(self, need: _Known) -> bool:
        """Whether the need is of a size that the item does not say or, saying none, leaves out."""
        if self._patients:
            return not need.patients
        return bool(need.patients) and ADULT not in need.patients


def _meet(mine: frozenset[Decimal], theirs: frozenset[Decimal]) -> bool:
    """Whether amounts share one, a range being all between its ends."""
    return min(mine) <= max(theirs) and min(theirs) <= max(mine)


def patients_of(*texts: str) -> frozenset[str]:
    """Whose sizes some words speak of: adults', children's, infants' or nobody's."""
    text = " ".join(texts).casefold()
    return frozenset(whose for whose, pattern in _PATIENTS.items() if pattern.search(text))


def measures_of(text: str) -> dict[str, frozenset[Decimal]]:
    """The amounts in a text by unit, of a range both ends; cc, L, g and mcg in mL and mg."""
    found: dict[str, set[Decimal]] = {}
    for first, last, unit in _MEASURE.findall(text):
        amounts = [_amount(each) for each in (first, last) if each]
        is_gauge = unit == "G" and all(each in _GAUGES for each in amounts)
        name, factor = ("ga", 1) if is_gauge else _AS.get(unit.casefold(), (unit.casefold(), 1))
        found.setdefault(name, set()).update(each * factor for each in amounts)
    return {unit: frozenset(amounts) for unit, amounts in found.items()}


def _amount(digits: str) -> Decimal:
    is_parted = re.fullmatch(_THOUSANDS, digits)
    return Decimal(digits.replace(",", "" if is_parted else "."))


def _plain(texts: Sequence[str]) -> list[str]:
    """Words without case, signs and whose size they are of, which is judged apart."""
    return [found for text in texts if (found := _plain_one(text))]


def _plain_one(text: str) -> str:
    text = text.casefold()
    for pattern in _PATIENTS.values():
        text = pattern.sub(" ", text)
    return plain(text)


def _similarity(mine: Sequence[str], theirs: Sequence[str]) -> float:
    """Half by the likest name or alias of each, half by all of the words of both together."""
    if not mine or not theirs:
        return 0.0
    likest = max(fuzz.token_set_ratio(one, other) for one in mine for other in theirs)
    together = fuzz.token_set_ratio(" ".join(mine), " ".join(theirs))
    return round((likest + together) / 200, 4)
