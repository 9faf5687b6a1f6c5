"""The one door through which evidence comes in, and how it is voided."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F, Q, QuerySet, Value
from django.db.models.functions import Concat

from drills.competency.gathering import fact_of
from drills.competency.models import HISTORY, Evidence, Fact, Fit, Modality, PersonOffset
from drills.competency.moving import MOVING, replayed, step_offset
from drills.engine.facts import BAG, SKILL
from drills.engine.facts import Fact as EngineFact
from drills.engine.memory import COUNTED
from drills.engine.scoring import Finding
from drills.people.models import AuditEntry, Person
from drills.people.prepared import Prepared
from drills.rigs.models import Item, Layout, Place, Revision, Rig
from drills.rigs.ties import needs_of_items

SCREEN, SCANNED, HANDS_ON = Modality.SCREEN, Modality.SCAN, Modality.HANDS_ON
_COLUMNS = tuple(each.attname for each in Fact._meta.concrete_fields)
ROWS_AT_ONCE = 2_000
# With the keys alone of what they lead to: facts are read with every answer.
_KEYS = ("item__key", "bag__key", "place__key", "skill")
_FACTS = Prepared(
    lambda layout, things: (
        Fact.objects.filter(Q(place__layout=layout) | Q(place=None))
        .about(things)
        .values_list(*_COLUMNS, *_KEYS)
    )
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """All that was true of one answer, whatever it says of each fact. Times are seconds.

    `predictions` are the chances thought beforehand, by fact as text.
    """

    person: Person
    revision: Revision
    rig: Rig | None
    at: datetime
    kind: str
    depth_asked: str
    choices_offered: int
    chosen_by: str
    predictions: Mapping[str, float]
    predicted_by: str
    is_first: bool
    seconds: float | None
    time_state: str
    time_verdict: str
    limit_seconds: float | None
    allowance: float
    modality: str = Modality.SCREEN
    is_assisted: bool = False
    device_class: str = ""
    is_simulated: bool = False
    is_imported: bool = False
    reference: str = ""
    observed_by: Person | None = None
    taken_in: AuditEntry | None = None
    source: str


# What one answer says of each fact, and all that was true of it.
Answered = tuple[Sequence[Finding], Circumstances]
# The rows of facts, and by item the need.
LookedUp = tuple[Mapping[EngineFact, Fact], Mapping[int | None, int | None]]


@transaction.atomic(savepoint=False)
def record_evidence(findings: Sequence[Finding], circumstances: Circumstances) -> list[Evidence]:
    """Keep what one answer says of each fact."""
    return record_history([(findings, circumstances)])


def history_source(number: int) -> str:
    """What the evidence of one simulated answer is known by, of which no run is kept."""
    return f"{HISTORY} {number}"


@transaction.atomic(savepoint=False)
def record_history(answers: Sequence[Answered]) -> list[Evidence]:
    """Keep what many answers say, in their order; what they are of is looked up once for all."""
    known = _looked_up(answers)
    kept = [
        each
        for findings, circumstances in answers
        for each in _rows(findings, circumstances, *known[circumstances.revision.pk])
    ]
    Evidence.objects.bulk_create(kept, batch_size=ROWS_AT_ONCE)
    said = iter(kept)
    for findings, circumstances in answers:
        _step(circumstances, list(islice(said, len(findings))))
    return kept


def _looked_up(answers: Sequence[Answered]) -> dict[int, LookedUp]:
    """The rows of all facts, and the needs of their items, by revision."""
    revisions = {of.revision.pk: of.revision for _, of in answers}
    asked: dict[int, dict[EngineFact, None]] = {number: {} for number in revisions}
    for findings, of in answers:
        asked[of.revision.pk].update(dict.fromkeys(each.fact for each in findings))
    found: dict[int, LookedUp] = {}
    for number, revision in revisions.items():
        facts = fact_rows(asked[number], layout=revision.layout)
        items = [row.item_id for row in facts.values() if row.item_id]
        found[number] = facts, needs_of_items(revision, items) if items else {}
    return found


def _rows(
    findings: Sequence[Finding],
    circumstances: Circumstances,
    facts: Mapping[EngineFact, Fact],
    needs: Mapping[int | None, int | None],
) -> Iterator[Evidence]:
    shared = {name: getattr(circumstances, name) for name in circumstances.__slots__}
    predictions: Mapping[str, float] = shared.pop("predictions")
    for each in findings:
        yield Evidence(
            fact=facts[each.fact],
            item_id=facts[each.fact].item_id,
            need_id=needs.get(facts[each.fact].item_id),
            outcome=each.outcome,
            depth_reached=each.depth_reached,
            prediction=predictions.get(str(each.fact)),
            **shared,
        )


def _step(circumstances: Circumstances, kept: Sequence[Evidence]) -> None:
    """Move what is thought of the person, where a fit of the model thought of it beforehand."""
    if circumstances.is_first and circumstances.predicted_by != COUNTED:
        step_offset(circumstances.person, [(each.prediction, each.outcome) for each in kept])


@transaction.atomic
def void_evidence(source: str, *, by: str, now: datetime) -> int:
    """Take the evidence of one answer out of every estimate; the rows stay.

    What it moved since the last refit is moved back; what it was to that, the next one mends.
    """
    return _void(Evidence.objects.standing().filter(source=source), by, now)


@transaction.atomic
def void_taken_in(line: AuditEntry, *, by: str, now: datetime) -> int:
    """Void all evidence of one file of past records. What it was known by is free again, so that
    the same file can come in once more; the rows stay, as they were part of what was fitted. What
    was voided before keeps what it was known by, and does not come back."""
    of_file = Evidence.objects.filter(taken_in=line)
    voided = _void(of_file.standing(), by, now)
    of_file.filter(voided_at=now).update(
        source=Concat(Value(f"taken back {line.pk} "), F("source"))
    )
    return voided


def _void(rows: QuerySet[Evidence], by: str, now: datetime) -> int:
    people = list(rows.exclude(person=None).order_by().values_list("person", flat=True).distinct())
    voided = rows.update(voided_at=now, voided_by=by)
    step_again(people)
    return voided


@transaction.atomic
def step_again(people: Collection[int]) -> None:
    """Make every step of some people since the last refit again, where evidence is no more."""
    made = Fit.objects.first() if people else None
    if made is not None:
        # Who answers meanwhile waits, and steps on from what is stored here.
        list(PersonOffset.objects.filter(person__in=people).select_for_update())
        PersonOffset.objects.bulk_update(replayed(made, people), MOVING)


def fact_rows(facts: Collection[EngineFact], *, layout: Layout) -> dict[EngineFact, Fact]:
    """The rows of some facts of a layout, or skills, made where they do not exist yet."""
    # A list in one order is written alike, however often it is asked.
    rows = _FACTS(layout=layout.pk, things=sorted({fact.thing for fact in facts}))
    known = {fact_of(*row[len(_COLUMNS) :]): Fact(*row[: len(_COLUMNS)]) for row in rows}
    new = [fact for fact in facts if fact not in known]
    found = known | _made(new, layout) if new else known
    return {fact: found[fact] for fact in facts}


def _made(facts: Collection[EngineFact], layout: Layout) -> dict[EngineFact, Fact]:
    keys = {key for fact in facts for key in (fact.place, fact.thing)}
    places = {place.key: place for place in Place.objects.filter(layout=layout, key__in=keys)}
    items = Item.objects.in_bulk([fact.thing for fact in facts], field_name="key")
    return {fact: _fact_row(fact, items, places) for fact in facts}


def _fact_row(fact: EngineFact, items: Mapping[str, Item], places: Mapping[str, Place]) -> Fact:
    if fact.kind == SKILL:
        return _made_once(skill=fact.thing)
    place = places[fact.place]
    if fact.kind == BAG:
        return _made_once(bag=places[fact.thing], place=place)
    return _made_once(item=items[fact.thing], place=place)


def _made_once(**named: Any) -> Fact:
    """A new row of a fact that was not there; the other's where somebody made it meanwhile."""
    try:
        with transaction.atomic():
            return Fact.objects.create(**named)
    except IntegrityError:
        return Fact.objects.get(**named)
