"""What sign-offs and phases ask of a person today."""

from dataclasses import dataclass
from datetime import datetime

from drills.engine.signing import DRILL_DUE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions.observing import KIT
from drills.runs.models import PhaseSpell
from drills.runs.signed import rows_of
from drills.scenarios.models import Recipe


@dataclass(frozen=True, slots=True)
class Raised:
    """The drill that is due on the layout of today's rig: for which categories, and the recipe."""

    categories: str
    recipe: Recipe


def drill_raised(person: Person, rig: Rig | None, *, now: datetime) -> Raised | None:
    """The drill that is due since a run at the rig grows old; none where nothing is due."""
    if rig is None or person.has_assessed_prompt_at(now):
        return None
    due = [
        row.standing.category
        for row in rows_of([person], now=now)[person.pk]
        if row.standing.layout == rig.layout_id and row.standing.state == DRILL_DUE
    ]
    recipe = Recipe.objects.filter(slug=KIT).first() if due else None
    return Raised(", ".join(due), recipe) if recipe else None


def phase_of(person: Person) -> PhaseSpell | None:
    """The phase somebody is in now."""
    return person.phase_spells.filter(ended_on=None).select_related("phase").first()
