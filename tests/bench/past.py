"""Evidence of simulated people on a rig, for benchmarks that need a past."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from drills.competency.actions import fact_rows
from drills.competency.gathering import ROWS_AT_ONCE
from drills.competency.models import Evidence
from drills.engine.facts import facts_of
from drills.engine.simulated import Log
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of


def fill(rig: Rig, log: Log, people: Sequence[Person], *, start: datetime) -> None:
    """The rows of a log as evidence of people on the facts of a rig, a fact for each thing."""
    wanted = facts_of(layout_of(rig.revision))[: int(log.item.max()) + 1]
    rows = fact_rows(list(wanted), layout=rig.layout)
    facts = [rows[each] for each in wanted]
    columns = zip(log.time, log.person, log.item, log.is_right, log.seconds, strict=True)
    evidence = [
        Evidence(
            person=people[person],
            fact=facts[item],
            rig=rig,
            revision=rig.revision,
            at=start + timedelta(days=float(day)),
            kind="locate",
            outcome="right" if is_right else "wrong",
            choices_offered=30,
            chosen_by="probe",
            is_first=True,
            seconds=float(took),
            is_simulated=True,
            source=f"simulated:{number}",
        )
        for number, (day, person, item, is_right, took) in enumerate(columns)
    ]
    Evidence.objects.bulk_create(evidence, batch_size=ROWS_AT_ONCE)
