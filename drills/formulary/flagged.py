"""Changes of a revision that must not pass unseen: figures many times what they were, figures that
changed while their source did not, and doses that their own note contradicts."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from drills.engine.changed_figures import changed_figures, rests_on_the_same
from drills.formulary.figures import figures_of
from drills.formulary.models import DoseRule, FormularyRevision
from drills.formulary.reports import before_of, rules_of


@dataclass(frozen=True, slots=True)
class Flag:
    """One thing that is looked at before an approval, in words; loud from ten times on.

    `also` is the revision that waits before this one and is flagged for the same.
    """

    code: str
    words: str
    is_loud: bool = False
    also: str = ""

    @property
    def key(self) -> str:
        """What is ticked and kept: it is another once a figure of it is another."""
        return f"{self.code} {self.words}"


@dataclass(frozen=True, slots=True)
class Flagged:
    """A rule with what is flagged of it."""

    rule: DoseRule
    flags: tuple[Flag, ...]

    @property
    def is_loud(self) -> bool:
        return any(each.is_loud for each in self.flags)


def flagged_of(revision: FormularyRevision) -> list[Flagged]:
    """What is flagged of a revision against the one that it takes the place of."""
    before = before_of(revision)
    return flagged(rules_of(before) if before else [], rules_of(revision))


def flagged(before: Collection[DoseRule], after: Collection[DoseRule]) -> list[Flagged]:
    """The rules of which something is flagged, those with the greatest changes first."""
    replaced = _replaced(before, after)
    told = [Flagged(rule, tuple(_flags(replaced.get(rule.code), rule))) for rule in after]
    return sorted((each for each in told if each.flags), key=lambda each: not each.is_loud)


def beside(found: Collection[Flagged], waiting: Collection[FormularyRevision]) -> list[Flagged]:
    """What is flagged, with what an older revision that waits is flagged for already."""
    told = {flag.key: str(each) for each in waiting for of in flagged_of(each) for flag in of.flags}
    return [
        Flagged(of.rule, tuple(replace(flag, also=told.get(flag.key, "")) for flag in of.flags))
        for of in found
    ]


def _flags(old: DoseRule | None, new: DoseRule) -> Iterator[Flag]:
    if old:
        was, figures = figures_of(old), figures_of(new)
        for each in changed_figures(was, figures):
            if each.is_flagged:
                yield Flag(new.code, each.words, each.is_loud)
        if rests_on_the_same(was, figures):
            changed = ", ".join(dict.fromkeys(each.name for each in changed_figures(was, figures)))
            rests_on = ", ".join(filter(None, figures.rests_on)) or "none is named"
            yield Flag(
                new.code, f"the figure changed ({changed}), the source did not: still {rests_on}"
            )
    if against := new.against_note:
        yield Flag(new.code, against, is_loud=True)


def _replaced(before: Collection[DoseRule], after: Collection[DoseRule]) -> dict[str, DoseRule]:
    """For the code of a rule the one whose place it takes: of the same code; else the one that is
    gone and was for the same use of the same patients."""
    old = {rule.code: rule for rule in before}
    codes = {rule.code for rule in after}
    gone = {_use(rule): rule for rule in before if rule.code not in codes}
    found = {rule.code: old.get(rule.code) or gone.get(_use(rule)) for rule in after}
    return {code: rule for code, rule in found.items() if rule}


def _use(of: DoseRule) -> tuple[object, ...]:
    window = (of.age_from_y, of.age_below_y, of.weight_from_kg, of.weight_below_kg)
    return (of.medicine.key, of.indication.casefold(), of.route.casefold(), *window)
