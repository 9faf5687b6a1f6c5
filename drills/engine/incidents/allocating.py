"""What is scarce of a rig among the patients of an incident: who gets it.

A rig carries two oxygen outlets and one cot; an incident has five who need them. No published rule
says who gets what of a rig, so the rule is ours, to be checked by medical direction. What may be
scarce, and whoever needs it, is a table of its own.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import groupby

from drills.engine.choosing import SOME, Choice, Choosing, Group
from drills.engine.incidents.findings import Sorting
from drills.engine.incidents.making import Casualty, Incident
from drills.engine.incidents.tables import LAME, PROBLEMS, SCARCE, Scarce, listed
from drills.engine.incidents.threats import threats
from drills.engine.triage import category

ALLOCATE, WHO, QUICK = "allocate", "who", "quick"
LYING, SITTING = "lying", "sitting"
AWAKE, MIND = "A", "mind"
RULE = (
    "It goes to those who need it, the most urgent category first, and of one category first to "
    "whom something kills soon; of those anybody is right. Who does not need it gets none, nor "
    "who is dead or left for now."
)
# With too few to sort nobody has a category, nor is anybody left as dead.
RULE_OF_FEW = (
    "It goes to those who need it, first to whom something kills soon; of those anybody is right. "
    "Who does not need it gets none. With so few nobody has a category."
)
SOURCE = "ours, no source"
QUICK_ASKS = "For whom is something quick done first: the airway opened, or bleeding stopped?"
# What takes a moment and saves a life, so that it comes before anybody stays with one. To turn
# somebody whose mind is gone on the side is as quick, and as right.
QUICK_TROUBLES = frozenset({"airway", "bleeding"})


@dataclass(frozen=True, slots=True)
class Triaged:
    """A patient who was triaged: the category and its urgency, and which scarce things they
    need. Of too few to sort the category is empty and nobody is more urgent.

    `kills` is what of them kills soon, in the words of `first.REASONS`. Who is dead or left for
    now is not treated.
    """

    number: int
    who: str
    findings: str
    category: str
    urgency: int
    needs: frozenset[str]
    kills: tuple[str, ...] = ()
    is_treated: bool = True

    @property
    def rank(self) -> tuple[int, bool]:
        """Whose turn it is: the category, then whether something kills soon."""
        return self.urgency, not self.kills


def triaged(incident: Incident, told: Iterable[tuple[int, str, str]]) -> tuple[Triaged, ...]:
    """Everybody of an incident who may be given something, with what they need."""
    words = {number: (who, findings) for number, who, findings in told}
    return tuple(_triaged(incident, each, *words[each.number]) for each in incident.casualties)


def too_few(incident: Incident, told: Iterable[tuple[int, str, str]]) -> tuple[Triaged, ...]:
    """Everybody of an incident of too few to sort, with what they need; all of them are treated."""
    words = {number: (who, findings) for number, who, findings in told}
    return tuple(
        Triaged(
            each.number,
            *words[each.number],
            category="",
            urgency=0,
            needs=_needs(each, kills),
            kills=kills,
        )
        for each in incident.casualties
        for kills in [threats(each.findings, each.whose, incident.sorting)]
    )


def _needs(casualty: Casualty, kills: tuple[str, ...]) -> frozenset[str]:
    return frozenset(each.key for each in SCARCE if _is_needed(each, casualty, kills))


def _triaged(incident: Incident, casualty: Casualty, who: str, findings: str) -> Triaged:
    sorting: Sorting = incident.sorting
    row = category(sorting.family, incident.outcome(casualty).category or "")
    kills = threats(casualty.findings, casualty.whose, sorting)
    return Triaged(
        number=casualty.number,
        who=who,
        findings=findings,
        category=f"{row.word} ({row.colour})",
        urgency=row.urgency,
        needs=frozenset() if row.called_dead else _needs(casualty, kills),
        kills=() if row.called_dead else kills,
        is_treated=not row.called_dead,
    )


def _is_needed(thing: Scarce, casualty: Casualty, kills: tuple[str, ...]) -> bool:
    if thing.carried == LYING:
        return _is_carried_out(casualty)
    if thing.carried == SITTING:
        return _is_carried_out(casualty) and not kills and _may_sit(casualty)
    return not set(kills).isdisjoint(listed(thing.troubles))


def _is_carried_out(casualty: Casualty) -> bool:
    """Who cannot walk; who never did goes in somebody's arms."""
    return not casualty.findings["walks"] and not casualty.whose.is_carried


def _may_sit(casualty: Casualty) -> bool:
    """Awake, does as asked, and by what is seen may sit: a leg that is only sore, among others."""
    seen, findings = casualty.appearance, casualty.findings
    is_able = seen.grade == LAME or PROBLEMS[seen.problem].sits
    return is_able and findings["avpu"] == AWAKE and bool(findings["obeys"])


def needing(people: Iterable[Triaged], thing: Scarce) -> list[Triaged]:
    """Those who need a thing, in their turn."""
    found = [each for each in people if thing.key in each.needs]
    return sorted(found, key=lambda each: (each.rank, each.number))


def who_gets(people: tuple[Triaged, ...], thing: Scarce, count: int) -> Choosing:
    """The question who gets a thing of which the rig has `count`, at least 1."""
    owed, tied = _owed(needing(people, thing), count)
    choices = tuple(Choice(str(e.number), f"{e.number}. {e.who.capitalize()}") for e in people)
    as_found = tuple(
        replace(each, note=f"{e.findings}.") for each, e in zip(choices, people, strict=True)
    )
    who = Group(
        WHO,
        "Who?",
        SOME,
        as_found,
        right=tuple(map(str, owed)),
        may=tuple(map(str, tied)),
        take=count,
    )
    return Choosing(
        task=ALLOCATE,
        groups=(who, _in_passing(people, choices)) if thing.people else (who,),
        rule=f"{RULE if people[0].category else RULE_OF_FEW} Here {thing.needed_by}.",
        source=SOURCE,
        told=tuple((each.number, each.who, each.findings) for each in people),
        why=tuple(_why(each, thing) for each in people),
        is_folded=True,
    )


def _in_passing(people: tuple[Triaged, ...], choices: tuple[Choice, ...]) -> Group:
    """For whom something quick is done, whoever is stayed with; missed, it only costs marks."""
    quick = [each.number for each in people if not QUICK_TROUBLES.isdisjoint(each.kills)]
    turned = [e.number for e in people if MIND in e.kills and e.number not in quick]
    return Group(
        QUICK,
        QUICK_ASKS,
        SOME,
        choices,
        right=tuple(map(str, quick)),
        may=tuple(map(str, turned)),
        decides=False,
    )


def _owed(needing_it: list[Triaged], count: int) -> tuple[list[int], list[int]]:
    """Who gets one whatever else, and those of one turn who share what is left."""
    owed: list[int] = []
    for _, group in groupby(needing_it, key=lambda each: each.rank):
        numbers = [each.number for each in group]
        if len(owed) + len(numbers) > count:
            return owed, numbers if len(owed) < count else []
        owed += numbers
    return owed, []


def _why(each: Triaged, thing: Scarce) -> str:
    trouble = f"trouble: {', '.join(each.kills)}" if each.kills else ""
    needs = "no need of it" if each.is_treated else "gets none"
    if thing.key in each.needs:
        needs = "needs it"
    words = filter(None, (each.category, trouble, needs))
    return f"Patient {each.number}: {', '.join(words)}."
