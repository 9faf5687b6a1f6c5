"""Practice in figures without end, and sheets of it on paper: from a seed, and nothing is kept."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice, zip_longest
from random import Random

from drills.boards.sitting import Sitting
from drills.engine.chance import mixed, seeded
from drills.engine.exercises import Exercise
from drills.engine.exercises.dose import is_worked_out
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import EACH_ONCE, OPEN_TOPICS, TOPICS, write
from drills.engine.medicines import MedicineRule
from drills.engine.recipes import CannotApplyError
from drills.formulary.reports import FormularyLockedError, dosing_settings, rules_in_force
from drills.rigs.carried import carried_by
from drills.rigs.models import Revision

MEDICINE = "medicine:"
KINDS = {"dose": "Doses", "supply": "Supplies"}
GRADES = {1: "one step", 2: "several steps", 3: "with a trap"}
WORDS = {
    "dose": "a dose to give",
    "drip": "a drip, by pump and drops",
    "dilution": "a dilution",
    "weight": "a weight in kilograms",
    "oxygen": "how long the oxygen lasts",
    "fluid": "fluid, bolus and bag",
    "burn": "fluid for burns",
    "energy": "the energy of a shock",
    "sums": "pressures, scores and tubes",
}
# A sheet looks so often for one more that is not on it already.
TRIES_FOR_EACH = 6
# Practice looks so often for one that was not asked in the sitting.
TRIES_FOR_ANOTHER = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What somebody wants to practise: a topic, or `medicine:` with the name of one."""

    what: str
    grade: int
    is_rule_shown: bool
    seed: int

    @property
    def title(self) -> str:
        """What it is, in words."""
        words = self.medicine or WORDS[self.what].capitalize()
        return f"{words}, {GRADES[self.grade]}{'' if self.is_rule_shown else ', from memory'}"

    @property
    def medicine(self) -> str:
        """The medicine wished for; empty where it is a topic."""
        return self.what.removeprefix(MEDICINE) if self.what.startswith(MEDICINE) else ""


def rules_to_practise(now: datetime) -> tuple[tuple[MedicineRule, ...], str]:
    """The rules in force, or none and the sentence why."""
    try:
        return rules_in_force(now).rules, ""
    except FormularyLockedError as error:
        return (), str(error)


def choices(rules: tuple[MedicineRule, ...]) -> list[tuple[str, list[tuple[str, str]]]]:
    """What can be practised, in groups, each a value with its words; without a formulary in force
    what follows no rule of treatment."""
    groups = [(words, _topics(kind, rules)) for kind, words in KINDS.items()]
    names = sorted({each.medicine for each in rules if is_worked_out(each)})
    medicines = [(f"{MEDICINE}{name}", name) for name in names]
    return [group for group in (*groups, ("One medicine", medicines)) if group[1]]


def _topics(kind: str, rules: tuple[MedicineRule, ...]) -> list[tuple[str, str]]:
    opened = [topic for topic in TOPICS[kind] if rules or topic in OPEN_TOPICS]
    return [(topic, WORDS[topic].capitalize()) for topic in opened]


def exercise(
    wish: Wish, rules: tuple[MedicineRule, ...], revision: Revision, sitting: Sitting
) -> tuple[Exercise, Sitting]:
    """The exercise of a seed that the sitting has not had, and the sitting it is asked in.

    Where all were asked the sitting begins again. Raises `CannotApplyError` where the rig makes
    none.
    """
    drawn = _exercises(wish, rules, revision)
    try:
        first = made = next(drawn)
    except CannotApplyError as error:
        raise CannotApplyError(_none_of(wish, rules, revision) or str(error)) from error
    for _ in range(TRIES_FOR_ANOTHER):
        if not sitting.has_asked(made):
            return made, sitting
        made = next(drawn)
    return first, sitting.begun_again()


def _none_of(wish: Wish, rules: tuple[MedicineRule, ...], revision: Revision) -> str:
    """Why one medicine gives no dose, and where it is asked instead; nothing of a topic."""
    of_it = [rule for rule in rules if rule.medicine == wish.medicine]
    if not of_it:
        return ""
    if any(map(is_worked_out, of_it)):
        return (
            f"{wish.medicine} gives no dose ({GRADES[wish.grade]}) on {revision}: it is not "
            "carried there, or no such sum comes of its rules. Choose another level."
        )
    elsewhere = " and ".join(sorted({WORDS[rule.topic].capitalize() for rule in of_it}))
    return f"{wish.medicine} is never asked as a dose by itself. It is asked under {elsewhere}."


def no_choice(came: str) -> str:
    """Why what came in is no choice, in words."""
    if came.startswith(MEDICINE):
        name = came.removeprefix(MEDICINE)
        return f"The formulary in force has no dose of {name} to practise. Choose another."
    if came in WORDS:
        return f"{WORDS[came].capitalize()}: not without a formulary in force. Choose another."
    return f"{came} is nothing that can be practised. Choose from the list."


def sheet(
    wish: Wish, rules: tuple[MedicineRule, ...], revision: Revision, *, count: int
) -> list[Exercise]:
    """So many exercises of a seed, none twice, and no rule again while there is another; fewer
    where there are no more.

    What comes to a figure that the sheet has of the same rule, such as 500 mL over 2 h after
    1,000 mL over 4 h, is one sum under other numbers: it is taken where nothing else is left.
    """
    found: dict[tuple[str, ...], Exercise] = {}
    alike: list[Exercise] = []
    for made in _in_turns(wish, rules, revision, count):
        kept = found.setdefault((_rule_of(made), made.asked, _answer(made)), made)
        alike += [] if kept is made else [made]
        if len(found) == count:
            break
    return [*found.values(), *alike][:count]


def _in_turns(
    wish: Wish, rules: tuple[MedicineRule, ...], revision: Revision, count: int
) -> Iterator[Exercise]:
    """Different exercises, one of each rule before another of any."""
    by_rule = list(_by_rule(wish, rules, revision, count))
    return (made for turn in zip_longest(*by_rule) for made in turn if made)


def _by_rule(
    wish: Wish, rules: tuple[MedicineRule, ...], revision: Revision, count: int
) -> Iterable[Iterable[Exercise]]:
    """Different exercises of each rule; drawn at random, of so many as are tried."""
    random = _random(wish)
    if wish.what in EACH_ONCE:
        stores = _stores(wish, rules, revision)
        return mixed(EACH_ONCE[wish.what](wish.grade, stores, random), random)
    there: dict[str, dict[tuple[str, ...], Exercise]] = {}
    for made in islice(_exercises(wish, rules, revision), count * TRIES_FOR_EACH):
        there.setdefault(_rule_of(made), {}).setdefault(made.figures, made)
        if len(there) == count:
            break
    return [each.values() for each in there.values()]


def _rule_of(made: Exercise) -> str:
    """The rule of treatment that a dose is asked of; of what follows none, the question."""
    return made.medicine.code if made.medicine else made.question


def _answer(made: Exercise) -> str:
    return made.solution.results[made.asked].answer


def _exercises(
    wish: Wish, rules: tuple[MedicineRule, ...], revision: Revision
) -> Iterator[Exercise]:
    stores, random = _stores(wish, rules, revision), _random(wish)
    while True:
        yield write("dose" if wish.medicine else wish.what, wish.grade, stores, random)


def _stores(wish: Wish, rules: tuple[MedicineRule, ...], revision: Revision) -> Stores:
    """What it is made from; `CannotApplyError` where no rule is of the medicine wished for."""
    asked = [rule for rule in rules if wish.medicine in ("", rule.medicine)]
    if wish.medicine and not asked:
        raise CannotApplyError(f"There is no rule for {wish.medicine} that can be drilled.")
    return Stores(
        rules=tuple(asked),
        aboard=carried_by(revision),
        is_rule_shown=wish.is_rule_shown,
        settings=dosing_settings().settings,
    )


def _random(wish: Wish) -> Random:
    return seeded(f"practice/1:{wish.what}:{wish.grade}:{wish.seed}")
