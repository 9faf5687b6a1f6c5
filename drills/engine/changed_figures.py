"""What of a dose rule's figures is no longer what it was, as a ratio, and what its note says of it.

From twice or half on a change is flagged, and from ten times or a tenth on loudly: ours, no source.
That a decimal point in the wrong place makes a tenfold error, and one unit for another a
thousandfold, is common practice, no source.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from drills.engine.concentrations import read_strength
from drills.engine.figures import last_figure
from drills.engine.quantities import Quantity, QuantityError, plain, read_quantity

FLAGGED_FROM = 2
LOUD_FROM = 10
_MUCH, _STRONG, _LONG, _MANY = "much", "strong", "long", "many"
_TENFOLDS = {10: "ten times", 100: "a hundred times", 1000: "a thousand times"}
_PARTS = {10: "a tenth", 100: "a hundredth", 1000: "a thousandth"}
# Without one of these a dose may be more, or come sooner, than before.
_LIMITS = ("maximum", "most in all", "least minutes between", "how many more")
_FLOOR = "minimum"
STRENGTH = "strength it is given from"
# 0.1 mL/kg of 1 mg/mL, or 0.5-2 mL of 10 mcg/mL; whatever is said otherwise is not read.
_NOTED = re.compile(
    r"(?<![\w.,:/-])([0-9][0-9.,]*)(?:(?:-| to )([0-9][0-9.,]*))? (mL(?:/kg)?) of "
    r"([0-9][0-9.,]* (?:mcg|mg|g|mEq|units)/mL)(?![\w/])"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """The figures of a rule as it is printed, empty where none is given, and what they rest on.

    Amounts are texts such as `0.1 mg/kg`, strengths such as `0.1 mg/mL` or `10 mg / 2 mL`; minutes
    and counts are whole numbers as texts. `strengths` are of all that it is given from, by what
    each is known by from one revision to the next. `rests_on` is the source, its version, page and
    date.
    """

    dose: str
    dose_high: str = ""
    minimum: str = ""
    maximum: str = ""
    total: str = ""
    strengths: Mapping[str, str] = field(default_factory=dict)
    final_strength: str = ""
    take: str = ""
    diluent_volume: str = ""
    repeat_min: str = ""
    repeat_times: str = ""
    over_min: str = ""
    error_limit: str = ""
    rests_on: tuple[str, ...] = ()
    note: str = ""

    @property
    def named(self) -> dict[str, tuple[str, str]]:
        """Each figure under its name, with what it is measured by."""
        return {
            "dose": (self.dose, _MUCH),
            "upper end of the dose": (self.dose_high or self.dose, _MUCH),
            "minimum": (self.minimum, _MUCH),
            "maximum": (self.maximum, _MUCH),
            "most in all": (self.total, _MUCH),
            "strength when mixed": (self.final_strength, _STRONG),
            "taken for mixing": (self.take, _MUCH),
            "mixed with": (self.diluent_volume, _MUCH),
            "least minutes between": (self.repeat_min, _LONG),
            "how many more": (self.repeat_times, _MANY),
            "minutes to give it over": (self.over_min, _LONG),
            "unsafe from percent": (self.error_limit, _MUCH),
        }


@dataclass(frozen=True, slots=True)
class Changed:
    """One figure, before and after; `ratio` is how many times the old one it is, None where one of
    both is not there or they are of different kinds."""

    name: str
    before: str
    after: str
    ratio: Fraction | None
    measured: str

    @property
    def is_loud(self) -> bool:
        """Ten times or more, or a tenth or less, or of another kind."""
        if not (self.before and self.after):
            return False
        return self.ratio is None or _is_beyond(self.ratio, LOUD_FROM)

    @property
    def is_flagged(self) -> bool:
        if not self.after:
            return self.name in _LIMITS
        if not self.before:
            return self.name == _FLOOR
        return self.ratio is None or _is_beyond(self.ratio, FLAGGED_FROM)

    @property
    def how(self) -> str:
        """The change in words: ten times as much as before."""
        if not self.after:
            return "there is none any more"
        if not self.before:
            return "there was none"
        if self.ratio is None:
            return "the two cannot be compared"
        return f"{self.compared} as before" if self.ratio else "there is none any more"

    @property
    def compared(self) -> str:
        """What the second is of the first: ten times as much; empty where that cannot be said."""
        return _times(self.ratio, self.measured) if self.ratio else ""

    @property
    def words(self) -> str:
        return f"{self.name}: {self.before or 'none'} becomes {self.after or 'none'}, {self.how}"


def changed_figures(old: Figures, new: Figures) -> tuple[Changed, ...]:
    """Every figure that is another amount than before; 1 mg and 1,000 mcg are one amount."""
    return tuple(_changed(old, new))


def _changed(old: Figures, new: Figures) -> Iterator[Changed]:
    before, after = old.named, new.named
    has_range = bool(old.dose_high or new.dose_high)
    for name, (was, measured) in before.items():
        becomes = after[name][0]
        if name.startswith("upper end") and not has_range:
            continue
        ratio = _ratio(was, becomes)
        if ratio != 1:
            yield Changed(name, was, becomes, ratio, measured)
    yield from _strengths(old.strengths, new.strengths)


def _strengths(old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[Changed]:
    """Each strength that is another one: by what it is known by, and of those that are known by
    another name the ones that came against the ones that went, in their order.

    One that came beside the others, or is given up, changes no figure.
    """
    gone, come = _beyond(old, new), _beyond(new, old)
    for text in [*gone]:
        if same := next((each for each in come if _ratio(text, each) == 1), ""):
            gone.remove(text)
            come.remove(same)
    kept = [(old[key], new[key]) for key in old if key in new]
    for was, becomes in (*kept, *zip(gone, come, strict=False)):
        ratio = _ratio(was, becomes)
        if ratio != 1:
            yield Changed(STRENGTH, was, becomes, ratio, _STRONG)


def _beyond(there: Mapping[str, str], other: Mapping[str, str]) -> list[str]:
    """What the one has under names that the other has not."""
    return [text for key, text in there.items() if key not in other]


def rests_on_the_same(old: Figures, new: Figures) -> bool:
    """Whether figures changed while source, version, page and date are what they were."""
    return old.rests_on == new.rests_on and bool(changed_figures(old, new))


def against_its_note(of: Figures) -> str:
    """What a note says that the dose contradicts, in words; empty where it does not or where the
    note is not of the one exact form: a volume, or a volume by weight, of a strength."""
    for noted in _NOTED.finditer(of.note):
        low, high, unit, strength = noted.groups()
        ends = ((low, of.dose), (high or low, of.dose_high or of.dose))
        for volume, dose in ends:
            if words := _against(f"{volume} {unit}", strength, dose):
                return f"the note says {noted[0]}: {words}"
    return ""


def _against(volume: str, strength: str, dose: str) -> str:
    try:
        given, per_ml, printed = read_quantity(volume), read_strength(strength), _quantity(dose)
        told = per_ml.of(given)
        off = abs(told.to(printed.unit).amount - printed.amount)
        # What is printed may be rounded to its last figure.
        room = max(
            per_ml.of(Quantity(last_figure(volume) / 2, given.unit)).to(printed.unit).amount,
            last_figure(dose) / 2,
        )
        ratio = printed.ratio_to(told)
    except QuantityError:
        return ""
    if off <= room and not _is_beyond(ratio, FLAGGED_FROM):
        return ""
    return f"{told.to(printed.unit)}, and the dose is {dose}, {_times(ratio, _MUCH)}"


def _times(ratio: Fraction, measured: str) -> str:
    """How many times as much, as strong, as long or as many."""
    upside = 1 / ratio
    if upside in _PARTS:
        return f"{_PARTS[int(upside)]} as {measured}"
    if ratio in _TENFOLDS:
        return f"{_TENFOLDS[int(ratio)]} as {measured}"
    if ratio == FLAGGED_FROM:
        return f"twice as {measured}"
    if upside == FLAGGED_FROM:
        return f"half as {measured}"
    about = "" if (ratio * 100).denominator == 1 else "about "
    return f"{about}{plain(Fraction(round(ratio * 100), 100)) or '0'} times as {measured}"


def _is_beyond(ratio: Fraction, times: int) -> bool:
    return ratio >= times or ratio * times <= 1


def _ratio(was: str, becomes: str) -> Fraction | None:
    """1 for what is the same; None for what cannot be measured by the other."""
    if was == becomes:
        return Fraction(1)
    if not (was and becomes):
        return None
    try:
        return _quantity(becomes).ratio_to(_quantity(was))
    except QuantityError:
        return None


def _quantity(text: str) -> Quantity:
    """An amount, a strength, or a bare number."""
    if text.isdecimal():
        return Quantity(Fraction(text), "index")
    try:
        return read_strength(text)
    except QuantityError:
        return read_quantity(text)
