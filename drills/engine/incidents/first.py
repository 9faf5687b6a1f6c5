"""Fewer patients than it takes to sort: who comes first, and why.

With so few nobody is put in a category. First is who has something that kills soon; none of the
schemes says so of a few patients, so the rule is ours, to be checked by medical direction.
"""

from collections.abc import Mapping

from drills.engine.choosing import FIRST, ONE, Choice, Choosing, Group
from drills.engine.incidents.making import Incident
from drills.engine.incidents.telling import told
from drills.engine.incidents.threats import threats
from drills.engine.triage import category

WHO, WHY = "who", "why"
NOTHING = "nothing"
REASONS: Mapping[str, str] = {
    "airway": "Airway: no breath until something is done",
    "breathing": "Breathing: too fast, too slow, or hard work",
    "circulation": "Circulation: no pulse, or the skin fills late",
    "mind": "Mind: does not do what is asked",
    "bleeding": "Bleeding that is not stopped",
    NOTHING: "None of these: whoever is worst hurt",
}
RULE = (
    "First is who has one of airway, breathing, circulation, mind or bleeding; among several "
    "anybody is right. Where nobody has one, first is whom the chart has as most urgent. "
    "With so few nobody is left as dead."
)
SOURCE = "ours, no source"


def who_first(incident: Incident) -> Choosing:
    """The question for an incident of so few."""
    people = incident.casualties
    found = {each.number: threats(each.findings, each.whose, incident.sorting) for each in people}
    right = _right(incident, found)
    who = tuple(
        Choice(str(each.number), f"{each.number}. {each.patient.who.capitalize()}")
        for each in people
    )
    why_given = tuple(Choice(key, words) for key, words in REASONS.items())
    by = tuple((f"{WHO}:{number}", why) for number, why in right.items())
    return Choosing(
        task=FIRST,
        groups=(
            Group(WHO, "Who comes first?", ONE, who, right=tuple(map(str, right))),
            Group(WHY, "Why?", ONE, why_given, by=by, decides=False),
        ),
        rule=RULE,
        source=SOURCE,
        told=patients_told(incident),
        why=tuple(
            f"Patient {number}: {', '.join(why or ('none of these',))}."
            for number, why in found.items()
        ),
    )


def patients_told(incident: Incident) -> tuple[tuple[int, str, str], ...]:
    """Everybody of an incident as a page shows them, every finding told."""
    return tuple(
        (
            each.number,
            each.patient.who,
            " ".join((f"{each.seen}.", *told(each.findings, each.whose))).removesuffix("."),
        )
        for each in incident.casualties
    )


def _right(
    incident: Incident, found: Mapping[int, tuple[str, ...]]
) -> Mapping[int, tuple[str, ...]]:
    """Who is right as the first, each with the reasons for it."""
    threatened = {number: why for number, why in found.items() if why}
    return threatened or dict.fromkeys(_most_urgent(incident), (NOTHING,))


def _most_urgent(incident: Incident) -> list[int]:
    """The numbers of those who have the most urgent category of all."""
    family = incident.sorting.family
    rank = {
        each.number: category(family, incident.outcome(each).category or "").urgency
        for each in incident.casualties
    }
    return [number for number, urgency in rank.items() if urgency == min(rank.values())]
