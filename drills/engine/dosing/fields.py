"""The fields of a problem in plain data, each read to what it must be or refused by its name."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from difflib import get_close_matches
from fractions import Fraction
from typing import Any

from drills.engine.ages import Age, AgeError, read_age
from drills.engine.concentrations import Presentation, has_container, read_packed, read_strength
from drills.engine.door import shown, shown_name
from drills.engine.dosing.bounds import within_bounds
from drills.engine.dosing.entered import microlitres
from drills.engine.dosing.results import MEASURABLE_WITHIN, UNSAFE_FROM, ProblemError
from drills.engine.quantities import Quantity, QuantityError, below_zero, read_quantity
from drills.engine.tables import NotThereError, one_of

# What a medicine comes in: a syringe is given as it is, and nothing is drawn up from it.
VIAL, READY = "vial", "syringe"

# What may stand beside any problem and is not read.
ASIDE = frozenset({"kind", "id", "note"})
MOST_TOLD = 6
A_STRENGTH = (
    "a strength is such as 3 mg/mL, 10 mg / 2 mL, 10 %, 1:10,000, or an amount and what it is in, "
    'as {"amount": "1 mg", "in": "250 mL"}'
)
# As like as that to a field that is not there, a name is a slip in it. Ours, no source: 0.9 of two
# letters that changed places, and 0.75 of `weight` and `per_weight`, which are two fields.
_ALIKE = 0.8
# Of a pulse nobody says what is counted.
BEATS = "beats/min"
_PER_MINUTE = re.compile(r"\s*([0-9.,]+)\s*(?:(?:/|per\s)\s*min(?:ute)?|bpm)\s*", re.ASCII)
# The words of two settings of a service: a pound, and the rounding of a child's dose.
LB_BY_TABLE, LB_EXACTLY = "2.2", "exact"
HALF_UP, NEVER_UP = "half up", "never up"


class Fields:
    """The fields of one problem, each read once; what is left over at the end is refused."""

    def __init__(self, given: Mapping[str, Any]) -> None:
        self._left = {name: value for name, value in given.items() if value is not None}
        self.known: list[str] = []

    def _take(self, name: str, otherwise: Any = None) -> Any:
        """What came in under a name, once."""
        self.known.append(name)
        return self._left.pop(name, otherwise)

    def positive(self, name: str, *units: str) -> Quantity | None:
        """An amount of more than nothing; None where it is not there."""
        found = self.amount(name, *units)
        return None if found is None else _positive(name, found)

    def amount(self, name: str, *units: str) -> Quantity | None:
        """An amount of one of the kinds that the units have; None where it is not there."""
        value = self._take(name)
        return None if value is None else _amount(name, value, units)

    def amounts(self, name: str, *units: str) -> tuple[Quantity, ...]:
        """One amount or a list of them, each more than nothing."""
        value = self._take(name)
        if not isinstance(value, list):
            return () if value is None else (_positive(name, _amount(name, value, units)),)
        return tuple(_positive(at, _amount(at, each, units)) for at, each in _each_of(name, value))

    def needed(self, name: str, *units: str) -> Quantity:
        """An amount that must be there, and be more than nothing."""
        found = self.positive(name, *units)
        if found is None:
            raise ProblemError(f"{name}: it is missing; it is told in {_told_in(units)}.")
        return found

    def measured(self, name: str, unit: str, most: int) -> Quantity:
        """What was measured of a patient: over nothing, and no more than anything lives with."""
        if isinstance(told := self._left.get(name), str) and unit == BEATS:
            match = _PER_MINUTE.fullmatch(told)
            self._left[name] = f"{match[1]} {unit}" if match else told
        found = self.needed(name, unit).to(unit)
        if found.amount > most:
            raise ProblemError(f"{name}: {found} came in; up to {most} {unit} is accepted.")
        return found

    def weight(self, name: str = "weight") -> Quantity | None:
        """A body weight; None where it is not there."""
        return self.positive(name, "kg", "lb")

    def weighed(self, name: str = "weight") -> Quantity:
        """A body weight that must be there."""
        found = self.weight(name)
        if found is None:
            raise ProblemError(f"{name}: it is missing; it is told in kg or lb.")
        return found

    def gauge(self, name: str) -> Quantity:
        """What a gauge reads; of an empty cylinder nothing."""
        found = self.amount(name, "psi")
        if found is None:
            raise ProblemError(f"{name}: it is missing; it is told in psi.")
        return found

    def gauges(self, name: str) -> tuple[Quantity, ...]:
        """What one gauge reads, or each of a list of them."""
        value = self._take(name)
        if value is None:
            return ()
        there = _each_of(name, value) if isinstance(value, list) else [(name, value)]
        return tuple(_amount(at, each, ("psi",)) for at, each in there)

    def residual(self) -> Quantity:
        """What stays in a cylinder, which is never taken for granted; it may be nothing."""
        found = self.amount("residual", "psi")
        if found is None:
            raise ProblemError("residual: it is missing; it is such as 200 psi, or 0 psi for none.")
        return found

    def whole(self, name: str, most: int) -> int:
        """A whole number from 1 to `most`; 1 where it is not there."""
        value = self._take(name, 1)
        if type(value) is not int or not 1 <= value <= most:
            raise ProblemError(f"{name}: {shown(value)} came in; 1 to {most} is accepted.")
        return value

    def strength(self, name: str) -> Quantity | None:
        """A strength in any of its forms."""
        value = self._take(name)
        return None if value is None else _strength(name, value)

    def presentation(self, name: str) -> Presentation | None:
        """A strength with the volume it comes in, where that is told."""
        value = self._take(name)
        return None if value is None else _presentation(name, value)

    def refuse_uncontained(self, name: str) -> None:
        """Nobody counts the containers of a strength that says of none how much is in one."""
        value = self._left.get(name)
        if value is None:
            return
        _presentation(name, value)
        if not has_container(value):
            raise ProblemError(
                f"{name}: {_strength_shown(value)} came in, which says no container; "
                "it is such as 10 mg / 2 mL or 160 mg / tablet."
            )

    def presentations(self, name: str) -> tuple[Presentation, ...]:
        """A list of such."""
        value = self._take(name, [])
        if not isinstance(value, list):
            raise ProblemError(f"{name}: {shown(value)} came in; a list of strengths is accepted.")
        return tuple(_presentation(at, each) for at, each in _each_of(name, value))

    def sizes(self, name: str, known: Collection[int]) -> list[int]:
        """Some of the sizes that are known, such as those of the syringes aboard, in mL."""
        value = self._take(name, [])
        accepted = f'such as [1, 3, 10] or ["1 mL"], of {", ".join(map(str, known))} mL'
        if not isinstance(value, list):
            raise ProblemError(
                f"{name}: {shown(value)} came in; a list of sizes is accepted, {accepted}."
            )
        sizes = [(at, each, _size_of(each)) for at, each in _each_of(name, value)]
        for at, each, size in sizes:
            if size not in known:
                raise ProblemError(
                    f"{at}: {shown(each)} came in; the sizes of the table are accepted, {accepted}."
                )
        return [size for _, _, size in sizes if size is not None]

    def text(self, name: str) -> str:
        """A text; empty where it is not there."""
        value = self._take(name, "")
        if not isinstance(value, str):
            raise ProblemError(f"{name}: {shown(value)} came in; a text is accepted.")
        return value.strip()

    def named(self, name: str, such_as: str) -> str:
        """A text that must be there."""
        found = self.text(name)
        if not found:
            raise ProblemError(f"{name}: it is missing; it is such as {such_as}.")
        return found

    def one_of(self, name: str, what: str, there: Iterable[str]) -> str:
        """A name out of a published table, whatever its capitals."""
        names = list(there)
        return one_of_field(name, what, self.named(name, names[0]), names)

    def age(self, name: str = "age") -> Age:
        """An age that must be there."""
        try:
            return read_age(self.named(name, "5 years or 8 months"))
        except AgeError as error:
            raise ProblemError(f"{name}: {error}") from error

    def choice(self, name: str, *words: str) -> str:
        """One of some words; the first where it is not there."""
        value = self._take(name, words[0])
        if not isinstance(value, str) or value not in words:
            raise ProblemError(f"{name}: {shown(value)} is none of {', '.join(words)}.")
        return str(value)

    def has_exact_pounds(self) -> bool:
        """Whether a pound is taken as 0.45359237 kg; else pounds are divided by 2.2."""
        return self.choice("pounds", LB_BY_TABLE, LB_EXACTLY) == LB_EXACTLY

    def is_never_up(self) -> bool:
        """Whether nothing is rounded up, as some services have it for a child."""
        return self.choice("rounding", HALF_UP, NEVER_UP) == NEVER_UP

    def limit(self) -> Fraction:
        """The share from which an answer is unsafe: a fifth, or a rule's tighter limit."""
        found = self.amount("error_limit", "%")
        if found is None:
            return UNSAFE_FROM
        if not 0 < found.amount <= UNSAFE_FROM * 100:
            raise ProblemError(f"error_limit: {found} came in; up to 20 % is accepted.")
        return found.amount / 100

    def refused_from(self) -> Fraction:
        """The share off from which nothing is drawn up or set: a tenth, or less by the service."""
        found = self.amount("refused_from", "%")
        if found is None:
            return MEASURABLE_WITHIN
        if not 0 < found.amount <= MEASURABLE_WITHIN * 100:
            raise ProblemError(f"refused_from: {found} came in; up to 10 % is accepted.")
        return found.amount / 100

    def refuse_misspelt(self) -> None:
        """Raise for a name that is nearly one of those that were looked for and are not there."""
        for name in sorted(self._left.keys() - ASIDE):
            for meant in self._like(name):
                raise ProblemError(
                    f"{shown_name(name)}: no field of this kind of problem; is {meant} meant?"
                )

    def _like(self, name: str) -> list[str]:
        """The field that a name is nearest to: of the same letters, or as like as a slip."""
        turned = [each for each in self.known if sorted(each) == sorted(name.lower())]
        return turned or get_close_matches(name, self.known, 1, _ALIKE)

    def refuse_others(self) -> None:
        """Raise for what nobody asked for: a field with a slip in its name must not be lost."""
        strange = sorted(self._left.keys() - ASIDE)
        if strange:
            there = ", ".join(dict.fromkeys(self.known))
            raise ProblemError(
                f"{shown_name(strange[0])}: no field of this kind of problem; there are {there}."
            )


def one_of_field(name: str, what: str, asked: str, there: Iterable[str]) -> str:
    """The name asked for, as its table has it; `ProblemError` names the field and all there are."""
    try:
        return one_of(what, asked, there)
    except NotThereError as error:
        raise ProblemError(f"{name}: {error}") from error


def _positive(name: str, amount: Quantity) -> Quantity:
    if not amount.amount:
        raise ProblemError(f"{name}: {amount} came in; it is more than nothing.")
    return amount


def _each_of(name: str, values: list[Any]) -> Iterator[tuple[str, Any]]:
    """What is in a list, each by its place as JSON counts: `flow[0]` is the first."""
    return ((f"{name}[{place}]", each) for place, each in enumerate(values))


def _size_of(value: Any) -> int | None:
    """A size of a syringe, `3` or `3 mL`; None of what is none."""
    if type(value) is int:
        return value
    try:
        found = read_quantity(value).to("mL").amount if isinstance(value, str) else None
    except QuantityError:
        return None
    return int(found) if found is not None and found.denominator == 1 else None


def _told_in(units: tuple[str, ...]) -> str:
    """The units that are accepted; of many a few."""
    told = units if len(units) <= MOST_TOLD else (*units[: MOST_TOLD - 2], "the like")
    return " or ".join(filter(None, (", ".join(told[:-1]), told[-1])))


def _amount(name: str, value: Any, units: tuple[str, ...]) -> Quantity:
    if not isinstance(value, str):
        such_as = f"'20 {units[0]}'"
        raise ProblemError(f"{name}: {shown(value)} came in; a text such as {such_as} is accepted.")
    try:
        found = read_quantity(value)
    except QuantityError as error:
        came = below_zero(value) or f"{shown(value)} came in"
        raise ProblemError(
            f"{name}: {came}; a number and its unit are accepted, "
            f"in {_told_in(units)}.{microlitres(value)}"
        ) from error
    if found.kind not in {Quantity(found.amount, unit).kind for unit in units}:
        raise ProblemError(f"{name}: {found} came in; it is told in {_told_in(units)}.")
    return within_bounds(name, found)


def _strength(name: str, value: Any) -> Quantity:
    if not isinstance(value, str | Mapping):
        raise ProblemError(f"{name}: {shown(value)} came in; a text such as '3 mg/mL' is accepted.")
    try:
        strength, packed = read_strength(value), read_packed(value)
    except QuantityError as error:
        raise ProblemError(f"{name}: {_strength_shown(value)} came in; {A_STRENGTH}.") from error
    for part in (packed.amount, packed.volume):
        within_bounds(name, part)
    return within_bounds(name, strength)


def _strength_shown(value: str | Mapping[str, Any]) -> str:
    if isinstance(value, str):
        return shown(value)
    parts = (f"{shown_name(name)} {shown(each)}" for name, each in list(value.items())[:2])
    return ", ".join(parts) or "nothing"


def _presentation(name: str, value: Any) -> Presentation:
    _ = _strength(name, value)
    return read_packed(value)
