"""What the evidence says of a person now.

This is the seam for the model: estimates of one person are read here.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from drills.competency.models import Evidence
from drills.engine.facts import BAG, ITEM, Fact
from drills.engine.memory import Estimate, Observation, estimate
from drills.engine.scoring import RIGHT
from drills.people.models import Person
from drills.rigs.models import Layout


@dataclass(frozen=True, slots=True)
class Knowledge:
    """A person's standing evidence on the facts of one layout, and what it says now."""

    observations: Mapping[Fact, tuple[Observation, ...]]
    now: datetime
    has_simulated: bool = False

    def of(self, facts: Iterable[Fact]) -> Estimate:
        """One estimate over some facts together, such as all behind one door."""
        seen = [each for fact in facts for each in self.observations.get(fact, ())]
        return estimate(seen, now=self.now)

    def weights(self) -> dict[str, float]:
        """How much each fact with evidence should be asked for; the others count as 1."""
        return {str(fact): round(self.of([fact]).weight, 4) for fact in self.observations}

    def was_found(self, fact: Fact) -> bool:
        """Whether the fact was ever right."""
        return any(each.outcome == RIGHT for each in self.observations.get(fact, ()))

    def missed(self) -> list[Fact]:
        """Facts whose newest answer was not right, the newest miss first."""
        newest = {fact: seen[-1] for fact, seen in self.observations.items()}
        misses = [fact for fact, last in newest.items() if last.outcome != RIGHT]
        return sorted(misses, key=lambda fact: (newest[fact].at, fact), reverse=True)


def knowledge_of(person: Person, *, layout: Layout, now: datetime) -> Knowledge:
    """Read the person's evidence on a layout, in one query."""
    rows = (
        Evidence.objects.standing()
        .filter(person=person, fact__place__layout=layout)
        .order_by("at", "id")
        .values_list(
            "fact__item__key",
            "fact__bag__key",
            "fact__place__key",
            "outcome",
            "at",
            "is_first",
            "is_simulated",
        )
    )
    found: dict[Fact, list[Observation]] = defaultdict(list)
    simulated = False
    for item, bag, place, outcome, at, is_first, is_simulated in rows:
        fact = Fact(ITEM, item, place) if item else Fact(BAG, bag, place)
        found[fact].append(Observation(outcome, at, is_first))
        simulated = simulated or is_simulated
    return Knowledge({fact: tuple(seen) for fact, seen in found.items()}, now, simulated)
