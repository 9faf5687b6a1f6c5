"""Rules found by a word, by their medicine, and by what they replaced."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from drills.formulary.differences import FieldChange, changes_of
from drills.formulary.figures import strengths_changed
from drills.formulary.models import DoseRule, FormularyState, Medicine


@dataclass(frozen=True, slots=True)
class Grouped:
    """A medicine, its rules, and what they are for in a few words."""

    medicine: Medicine
    rules: tuple[DoseRule, ...]

    @property
    def letter(self) -> str:
        return self.medicine.name[:1].upper()

    @property
    def uses(self) -> str:
        return "; ".join(dict.fromkeys(rule.indication for rule in self.rules))


@dataclass(frozen=True, slots=True)
class Ruled:
    """The same rule in the revision before, and what differs from it."""

    before: DoseRule
    changes: tuple[FieldChange, ...]


def grouped(rules: Iterable[DoseRule]) -> list[Grouped]:
    """The rules by medicine, in the order of their names."""
    by_name = sorted(rules, key=lambda rule: (rule.medicine.name, rule.code))
    return [
        Grouped(medicine, tuple(of))
        for medicine, of in groupby(by_name, key=lambda rule: rule.medicine)
    ]


def rules_found(rules: Iterable[DoseRule], words: str, medicine: str) -> list[DoseRule]:
    """The rules that have every word, of the medicine of that key where one is said."""
    wanted = words.casefold().split()
    return [
        rule
        for rule in rules
        if (not medicine or rule.medicine.key == medicine)
        and all(each in _said_of(rule) for each in wanted)
    ]


def _said_of(rule: DoseRule) -> str:
    said = (rule.code, rule.medicine.name, rule.indication, rule.route, rule.population)
    return " ".join((*said, rule.source, rule.get_status_display())).casefold()


def ruled_by(rule: DoseRule) -> Ruled | None:
    """What a rule takes the place of: the rule of its code in the last revision before it that
    was in force; None where there is none."""
    before = (
        DoseRule.objects.filter(
            code=rule.code,
            revision__number__lt=rule.revision.number,
            revision__state__in=[FormularyState.APPROVED, FormularyState.SUPERSEDED],
        )
        .select_related("revision", "medicine")
        .order_by("-revision__number")
        .first()
    )
    return Ruled(before, (*changes_of(before, rule), *_strength(before, rule))) if before else None


def _strength(before: DoseRule, rule: DoseRule) -> Iterator[FieldChange]:
    """What it is given from, where that is otherwise packed under the same name."""
    for each in strengths_changed(before, rule):
        yield FieldChange(each.name, each.before, each.after, each.compared)
