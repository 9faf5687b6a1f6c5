"""What a draft changes, against the revision that is approved: rule by rule, in words."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from drills.formulary.figures import changed_in
from drills.formulary.models import DoseRule, Presentation

ADDED, REMOVED, CHANGED = "added", "removed", "changed"
WHATS = (ADDED, REMOVED, CHANGED)
_NOTHING = "nothing"
_SAME = frozenset({"id", "revision", "code"})
_COMPARED = [field for field in DoseRule._meta.concrete_fields if field.name not in _SAME]


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One value of a rule, before and after, in words; of a figure what the second is of the first,
    such as ten times as much."""

    name: str
    before: str
    after: str
    compared: str = ""


@dataclass(frozen=True, slots=True)
class RuleChange:
    """One rule that differs; with each value that does where both revisions have it."""

    rule: DoseRule
    what: str
    fields: tuple[FieldChange, ...] = ()


@dataclass(frozen=True, slots=True)
class Differences:
    """How many rules there are before and after, and those that differ, by code."""

    before: int
    after: int
    changes: tuple[RuleChange, ...]

    @property
    def standing(self) -> list[RuleChange]:
        """What is read rule by rule: those that are changed, then those that are new."""
        wanted = [each for each in self.changes if each.what != REMOVED]
        return sorted(wanted, key=lambda each: each.what != CHANGED)

    @property
    def removed(self) -> list[RuleChange]:
        return [each for each in self.changes if each.what == REMOVED]

    @property
    def counts(self) -> list[tuple[int, str]]:
        """How many of each way to differ, those of none as well."""
        return [(sum(each.what == what for each in self.changes), what) for what in WHATS]


def differences(before: Collection[DoseRule], after: Collection[DoseRule]) -> Differences:
    """Rules are the same by their code."""
    return Differences(len(before), len(after), tuple(_changes(before, after)))


def _changes(before: Collection[DoseRule], after: Collection[DoseRule]) -> Iterator[RuleChange]:
    old, new = ({rule.code: rule for rule in rules} for rules in (before, after))
    for code in sorted(old.keys() | new.keys()):
        if code not in old:
            yield RuleChange(new[code], ADDED)
        elif code not in new:
            yield RuleChange(old[code], REMOVED)
        elif fields := changes_of(old[code], new[code]):
            yield RuleChange(new[code], CHANGED, fields)


def changes_of(old: DoseRule, new: DoseRule) -> tuple[FieldChange, ...]:
    """What differs between two rules of one code, value by value."""
    return tuple(_fields(old, new))


def _fields(old: DoseRule, new: DoseRule) -> Iterator[FieldChange]:
    changed = changed_in(old, new)
    for field in _COMPARED:
        before, after = (_words(getattr(rule, field.name)) for rule in (old, new))
        if before != after:
            figure = changed.get(field.name) if _NOTHING not in (before, after) else None
            compared = figure.compared if figure else ""
            yield FieldChange(str(field.verbose_name), before, after, compared)


def packings(before: Iterable[Presentation], after: Iterable[Presentation]) -> list[str]:
    """How medicines come otherwise than before, in words; presentations are the same by their key.

    Which need one is has its place there, since it says what of a rig is drawn from.
    """
    old, new = ({each.key: _packing(each) for each in of} for of in (before, after))
    return [
        f"{key}: was {old.get(key, 'nothing')}, becomes {new.get(key, 'nothing')}"
        for key in sorted(old.keys() | new.keys())
        if old.get(key) != new.get(key)
    ]


def _packing(of: Presentation) -> str:
    return f"{of}, need {of.need.key}" if of.need else str(of)


def _words(value: Any) -> str:
    """A value as a person reads it; nothing and no are told apart from each other."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list):
        return "; ".join(map(_problem, value)) or _NOTHING
    return _NOTHING if value is None or value == "" else str(value)


def _problem(of: dict[str, Any] | str) -> str:
    """One of a list: a problem with its severities, or the key of a presentation."""
    if isinstance(of, str):
        return of
    severities = ", ".join(map(str, of.get("severities", ())))
    return f"{of['problem']}, severity {severities}" if severities else str(of["problem"])
