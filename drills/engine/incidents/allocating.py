"""What is scarce of a rig among the patients of an incident: who gets it.

A rig carries two oxygen outlets and one cot; an incident has five who need them. No published rule
says who gets what of a rig, so the rule is ours, to be checked by medical direction.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from drills.engine.choosing import SOME, Choice, Choosing, Group
from drills.engine.incidents.findings import Sorting
from drills.engine.incidents.first import threats
from drills.engine.incidents.making import Casualty, Incident
from drills.engine.triage import category

ALLOCATE, WHO = "allocate", "who"
RULE = (
    "It goes to those who need it, the most urgent category first; of one category anybody is "
    "right. Who does not need it gets none, nor who is dead or left for now."
)
SOURCE = "ours, no source"


@dataclass(frozen=True, slots=True)
class Resource:
    """A thing that a rig may have too few of: how it is asked for, and who needs it.

    `is_oxygen` where the question after it is how long the oxygen lasts.
    """

    key: str
    has: str
    asks: str
    needed_by: str
    needs_it: Callable[[Mapping[str, Any], tuple[str, ...]], bool]
    is_oxygen: bool = False


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a patient stands: the category and its urgency, and which resources they need."""

    number: int
    who: str
    findings: str
    category: str
    urgency: int
    needs: frozenset[str]


def _takes_oxygen(_findings: Mapping[str, Any], kills: tuple[str, ...]) -> bool:
    return bool({"airway", "breathing", "circulation", "mind"} & set(kills))


def _takes_suction(_findings: Mapping[str, Any], kills: tuple[str, ...]) -> bool:
    return bool({"airway", "mind"} & set(kills))


def _is_carried_out(findings: Mapping[str, Any], _kills: tuple[str, ...]) -> bool:
    return not findings["walks"] and bool(findings.get("walked_before_event", True))


_OXYGEN_WORDS = "who needs it has trouble of airway, breathing, circulation or mind"
_CARRY_WORDS = "who needs it cannot walk, and is no infant in arms"
RESOURCES = (
    Resource(
        "outlets",
        "oxygen outlets in the rig",
        "Who gets an oxygen outlet in the rig?",
        _OXYGEN_WORDS,
        _takes_oxygen,
        is_oxygen=True,
    ),
    Resource(
        "portables",
        "portable oxygen sets, cylinder and regulator",
        "Who gets portable oxygen?",
        _OXYGEN_WORDS,
        _takes_oxygen,
        is_oxygen=True,
    ),
    Resource(
        "litters",
        "boards and litters",
        "Who is carried on one first?",
        _CARRY_WORDS,
        _is_carried_out,
    ),
    Resource("cots", "cots", "Who is loaded first?", _CARRY_WORDS, _is_carried_out),
    Resource(
        "suction",
        "portable suction units",
        "Who gets suction?",
        "who needs it has trouble of airway or mind",
        _takes_suction,
    ),
)


def standings(incident: Incident, told: Iterable[tuple[int, str, str]]) -> tuple[Standing, ...]:
    """Everybody of an incident who may be given something, with what they need."""
    words = {number: (who, findings) for number, who, findings in told}
    return tuple(_standing(incident, each, *words[each.number]) for each in incident.casualties)


def _standing(incident: Incident, casualty: Casualty, who: str, findings: str) -> Standing:
    sorting: Sorting = incident.sorting
    row = category(sorting.family, incident.outcome(casualty).category or "")
    kills = threats(casualty.findings, casualty.whose, sorting)
    needs = () if row.called_dead else RESOURCES
    return Standing(
        number=casualty.number,
        who=who,
        findings=findings,
        category=f"{row.word} ({row.colour})",
        urgency=row.urgency,
        needs=frozenset(e.key for e in needs if e.needs_it(casualty.findings, kills)),
    )


def needing(people: Iterable[Standing], resource: Resource) -> list[Standing]:
    """Those who need a thing, the most urgent category first."""
    found = [each for each in people if resource.key in each.needs]
    return sorted(found, key=lambda each: (each.urgency, each.number))


def who_gets(people: tuple[Standing, ...], resource: Resource, count: int) -> Choosing:
    """The question who gets a thing of which the rig has `count`, at least 1."""
    owed, tied = _owed(needing(people, resource), count)
    return Choosing(
        task=ALLOCATE,
        groups=(
            Group(
                WHO,
                "Who?",
                SOME,
                tuple(Choice(str(e.number), f"{e.number}. {e.who.capitalize()}") for e in people),
                right=tuple(map(str, owed)),
                may=tuple(map(str, tied)),
                take=count,
            ),
        ),
        rule=f"{RULE} Here {resource.needed_by}.",
        source=SOURCE,
        told=tuple((each.number, each.who, each.findings) for each in people),
        why=tuple(_why(each, resource) for each in people),
        is_folded=True,
    )


def _owed(needing_it: list[Standing], count: int) -> tuple[list[int], list[int]]:
    """Who gets one whatever else, and those of one category who share what is left."""
    owed: list[int] = []
    for _, group in groupby(needing_it, key=lambda each: each.urgency):
        numbers = [each.number for each in group]
        if len(owed) + len(numbers) > count:
            return owed, numbers if len(owed) < count else []
        owed += numbers
    return owed, []


def _why(each: Standing, resource: Resource) -> str:
    needs = "needs it" if resource.key in each.needs else "no need of it"
    return f"Patient {each.number}: {each.category}, {needs}."
