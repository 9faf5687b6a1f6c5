"""What a run serves next, and what voids a prompt that is open."""

from datetime import datetime, timedelta
from random import Random

from django.db import transaction
from django.db.models import QuerySet

from drills.competency.actions import SCANNED, SCREEN, void_evidence
from drills.competency.gathering import Manner
from drills.competency.reports import Knowledge, knowledge_of
from drills.engine.asking import is_held
from drills.engine.elsewhere import Elsewhere, relearned
from drills.engine.facts import Fact
from drills.engine.layout import Layout
from drills.engine.moves import ANSWER, CALL_AWAY, GO_ON, NOT_THERE, WITHDRAW, refuse_move
from drills.engine.prompts import asked_as, ways
from drills.engine.recipes import PLACE_KINDS, PLACELESS_KINDS
from drills.engine.scoring import fact_nearest_to_cot
from drills.engine.serving import Next, Slot, next_prompt
from drills.engine.study import study_walk
from drills.engine.timing import OVER_BASELINE, lawful_cut_off, limit_on_screen
from drills.people.models import Person
from drills.people.prepared import Prepared
from drills.rigs.actions import held_pairs
from drills.rigs.own import own_of
from drills.rigs.reading import layout_of
from drills.runs.actions.reporting import tell_keeper
from drills.runs.choices import choices_offered
from drills.runs.labelled import no_scan_because
from drills.runs.models import (
    LEFT_ALONE_AFTER,
    Presentation,
    PresentationState,
    Run,
    RunState,
    TappingBaseline,
    VoidReason,
)
from drills.runs.served import UNREAD, Record, Turn, record_of
from drills.scenarios.models import DrillPrompt, Mode
from drills.scenarios.reading import layout_asked

WARM_UPS = 3
# Ours, no source: a place takes the time of three things, however many are right. A limit that
# grew with them would tell how many there are.
CONTENTS_COUNTS_AS = 3
BASELINE_KEPT = timedelta(days=90)
_BASELINES = Prepared(
    lambda person, device, since: TappingBaseline.objects.filter(
        person=person, device_class=device, measured_at__gte=since
    ).values_list("seconds")
)
_PROMPTS = Prepared(
    lambda drill, position: DrillPrompt.objects.filter(drill=drill, position=position).order_by()
)


@transaction.atomic
def begin(
    run: Run, *, device_class: str | None, is_timed: bool, now: datetime, by_scan: bool = False
) -> Turn:
    """Settle how the run is taken, before its first prompt, and serve that; later the next one.

    `ValueError` where it is to be answered by scans and cannot be.
    """
    record = record_of(run.read_again(locked=True))
    if not record.shown:
        if by_scan and (refusal := no_scan_because(run)):
            raise ValueError(refusal)
        run.by_scan = by_scan
        run.is_timed = (is_timed and not by_scan) or not run.is_practice
        run.save(update_fields=["is_timed", "by_scan"])
    return _serve_next(run, record, now, device_class)


@transaction.atomic
def serve_next(run: Run, *, now: datetime, device_class: str | None = None) -> Presentation | None:
    """The open prompt, or the next one; nothing when none is left, which finishes the run.

    `device_class` is what it is served to; the same as before when nobody says. Raises `MoveError`
    when the run is over.
    """
    record = record_of(run.read_again(locked=True))
    return _serve_next(run, record, now, device_class).presentation


def _serve_next(run: Run, record: Record, now: datetime, device_class: str | None) -> Turn:
    """What `serve_next` does, to a run that is locked, with what it has served."""
    refuse_move(run.state_at(now), GO_ON)
    if record.is_one_open:
        is_open = _still_open(run, now)
        if is_open is not None:
            return Turn(is_open, record)
        record = record_of(run)
    if run.state == RunState.AWAY:
        run.state = RunState.RESUMED
        run.save(update_fields=["state"])
    device = record.last_device if device_class is None else device_class
    baseline = _kept_baseline(run, device, now)
    if baseline is None and _is_judged_by_time(run):
        return Turn(_serve_warm_up(run, record, device, now), record)
    chosen = next_prompt(slots_of(run, record), record.history, with_retries=run.is_practice)
    if chosen is None:
        _finish(run, now)
        return Turn(None, record)
    return Turn(_serve(run, chosen, device, baseline, record.next_order, now), record)


def _is_judged_by_time(run: Run) -> bool:
    """Whether a prompt may have a limit: that is over the person's tapping, measured first."""
    return run.is_timed and not run.drill.is_all_of(PLACELESS_KINDS)


def _still_open(run: Run, now: datetime) -> Presentation | None:
    """The open prompt; one that was left alone is void."""
    is_open = run.presentations.filter(state=PresentationState.OPEN).order_by().first()
    if is_open is not None and is_open.is_left_alone(now):
        _void(is_open, VoidReason.LEFT)
        return None
    return is_open


def go_on(run: Run, *, now: datetime, device_class: str | None = None) -> Turn:
    """Serve the next prompt after an answer, in its transaction, which holds the run locked; an
    answer resent after a call leaves the run away."""
    if run.state_at(now) in ANSWER.to:
        return _serve_next(run, record_of(run), now, device_class)
    return UNREAD


@transaction.atomic
def call_away(run: Run, *, now: datetime) -> None:
    """A real call: the open prompt is void and counts for nothing, the rest waits.

    Raises `MoveError` when the run is over.
    """
    run.read_again(locked=True)
    refuse_move(run.state_at(now), CALL_AWAY)
    _stop(run, RunState.AWAY, VoidReason.CALLED_AWAY)


@transaction.atomic
def withdraw_run(run: Run, *, now: datetime) -> None:
    """What it was for was taken back, or the person starts it otherwise: the open prompt is void,
    what was answered counts."""
    run.read_again(locked=True)
    if run.state_at(now) in WITHDRAW.to:
        _stop(run, RunState.WITHDRAWN, VoidReason.WITHDRAWN)


def _stop(run: Run, state: RunState, reason: VoidReason) -> None:
    for presentation in run.presentations.filter(state=PresentationState.OPEN):
        _void(presentation, reason)
    run.state = state
    run.save(update_fields=["state"])
    mark_open(run)


@transaction.atomic
def report_not_there(run: Run, *, token: str, by: Person, now: datetime) -> int | None:
    """Not where the layout says: void the prompt, tell the keeper, hold the line out of drills.

    It may be the open prompt, or in practice the one whose feedback is in sight; its answer and
    evidence are void as well. How many reports the keeper gets: one of a thing, however many
    places it has, none without a rig or where one waits; nothing at all when the prompt is
    neither. Raises `MoveError` when the run is away or over.
    """
    run.read_again(locked=True)
    refuse_move(run.state_at(now), NOT_THERE)
    presentation = run.presentations.select_related("prompt").order_by("order").last()
    if presentation is None or presentation.token != token or not _may_report(run, presentation):
        return None
    _void(presentation, VoidReason.NOT_IN_PLACE)
    void_evidence(source_of(presentation.token), by=VoidReason.NOT_IN_PLACE, now=now)
    mark_open(run)
    prompt = presentation.prompt
    return tell_keeper(run, prompt, by=by, now=now) if prompt else 0


def _may_report(run: Run, presentation: Presentation) -> bool:
    """An assessed answer once given stands; nobody voids what they got wrong."""
    prompt = presentation.prompt
    if prompt is None or prompt.kind in PLACELESS_KINDS:
        return False
    is_open = presentation.state == PresentationState.OPEN
    return is_open or (run.is_practice and presentation.state == PresentationState.ANSWERED)


def source_of(token: str) -> str:
    """What evidence calls the answer it came from, by the token of its presentation."""
    return f"answer {token}"


def slots_of(run: Run, record: Record) -> list[Slot]:
    """The prompts of the run's drill; blocked are those reported here or on the rig meanwhile,
    and those of what lies elsewhere on the rig than when the drill was made."""
    own = own_of(run.rig)
    held = held_pairs(run.rig, own) | _relearned(run, own)
    layout, reported = layout_asked(run.drill), record.reported
    return [
        Slot(
            asked.position,
            asked_as(asked.kind, asked.subject),
            asked.is_spare,
            blocked=asked.position in reported
            or (bool(held) and is_held(layout, asked.kind, asked.subject, held)),
        )
        for asked in run.drill.outline
    ]


def _relearned(run: Run, own: tuple[Elsewhere, ...]) -> frozenset[tuple[str, str]]:
    """What the rig carries elsewhere now than when the drill was made."""
    if run.rig is None:
        return frozenset()
    return relearned(layout_asked(run.drill), layout_of(run.drill.revision, own))


def _void(presentation: Presentation, reason: VoidReason) -> None:
    presentation.state, presentation.void_reason = PresentationState.VOID, reason
    presentation.save(update_fields=["state", "void_reason"])


def _finish(run: Run, now: datetime) -> None:
    run.state, run.finished_at = RunState.FINISHED, now
    run.save(update_fields=["state", "finished_at"])
    mark_open(run)


def mark_open(run: Run, served: Presentation | None = None) -> None:
    """Tell people whether search, contents and shading are closed to this person, or what labels
    tell.

    What was served just now is the newest that is open. A person may have two assessed runs: one
    that ends leaves the prompt of the other open.
    """
    if run.person_id and not run.is_practice:
        newest = served or _open_of(run).filter(run__mode=Mode.ASSESSED).last()
        Person.objects.filter(pk=run.person_id).update(assessed_prompt_until=_until(newest))
    if run.person_id and run.by_scan:
        newest = served or _open_of(run).filter(run__by_scan=True).last()
        Person.objects.filter(pk=run.person_id).update(scan_prompt_until=_until(newest))


def _open_of(run: Run) -> QuerySet[Presentation]:
    """The prompts that are open to the person of a run in any run of theirs, the newest last."""
    found = Presentation.objects.filter(run__person=run.person_id, state=PresentationState.OPEN)
    return found.exclude(prompt=None).order_by("served_at")


def _until(newest: Presentation | None) -> datetime | None:
    return newest.served_at + LEFT_ALONE_AFTER if newest else None


def _kept_baseline(run: Run, device_class: str, now: datetime) -> float | None:
    kept = _BASELINES(person=run.person_id, device=device_class, since=now - BASELINE_KEPT)
    return kept[0][0] if kept else None


def _serve_warm_up(run: Run, record: Record, device_class: str, now: datetime) -> Presentation:
    """Ask to tap a door that is named, drawn from the run's own secret: nothing to be known."""
    doors = study_walk(layout_asked(run.drill))
    order = record.next_order
    draw = Random(f"{run.secret}:{order}").random()  # noqa: S311  # a door to tap, no secret
    door = doors[int(draw * len(doors))]
    return Presentation.objects.create(
        run=run, order=order, subject=door.code, device_class=device_class, served_at=now
    )


def _serve(
    run: Run, chosen: Next, device_class: str, baseline: float | None, order: int, now: datetime
) -> Presentation:
    (prompt,) = _PROMPTS(drill=run.drill_id, position=chosen.position)
    layout = layout_asked(run.drill)
    asked = _asked_about(layout, prompt)
    known = _knowledge(run, prompt, asked, now)
    limit = _limit(run, layout, prompt, known, baseline)
    presentation = Presentation.objects.create(
        run=run,
        prompt=prompt,
        order=order,
        subject=prompt.subject,
        is_retry=chosen.is_retry,
        limit_seconds=limit,
        cut_off_seconds=None if run.is_practice else lawful_cut_off(run.drill.cut_off_s, limit),
        device_class=device_class,
        baseline_seconds=baseline,
        predictions=known.predictions(asked),
        predicted_by=known.thought_by,
        served_at=now,
    )
    _void_other_scans(run, presentation)
    mark_open(run, presentation)
    return presentation


def _void_other_scans(run: Run, presentation: Presentation) -> None:
    """A label answers the one prompt that waits for a scan: the last one served."""
    if run.by_scan:
        others = _open_of(run).filter(run__by_scan=True).exclude(pk=presentation.pk)
        for other in others:
            _void(other, VoidReason.LEFT)


def _knowledge(run: Run, prompt: DrillPrompt, asked: list[Fact], now: datetime) -> Knowledge:
    """What the person is thought to know of what is asked, as it is asked; nothing of somebody who
    was erased meanwhile."""
    if run.person is None:
        return Knowledge({}, now)
    manner = Manner(
        kind=prompt.kind,
        choices=choices_offered(prompt, layout_asked(run.drill)),
        modality=SCANNED if run.by_scan else SCREEN,
    )
    layout = run.drill.revision.layout
    return knowledge_of(run.person, layout=layout, now=now, about=asked, manner=manner)


def _limit(
    run: Run, layout: Layout, prompt: DrillPrompt, known: Knowledge, baseline: float | None
) -> float | None:
    """The limit in seconds; none untimed, and none in practice until it was found right once.

    Staging is timed and not judged by it: its target time is not worked out here.
    """
    if not run.is_timed or prompt.kind in PLACELESS_KINDS:
        return None
    if run.is_practice and _is_new(layout, prompt, known):
        return None
    over = run.drill.limit_over_baseline_s
    return limit_on_screen(
        baseline or 0.0,
        over=OVER_BASELINE if over is None else over,
        things=1 if prompt.kind in PLACE_KINDS else CONTENTS_COUNTS_AS,
        allowance=run.allowance,
    )


def _is_new(layout: Layout, prompt: DrillPrompt, known: Knowledge) -> bool:
    """Whether the person never found it before, by any way."""
    found = ways(layout, prompt.kind, prompt.subject, prompt.answer)
    return not any(all(map(known.was_found, way)) for way in found)


def _asked_about(layout: Layout, prompt: DrillPrompt) -> list[Fact]:
    """Every fact an answer may give evidence of: of a choice not in a place, where it lies."""
    others = [key for key in prompt.choices if key not in prompt.answer]
    asked = [*ways(layout, prompt.kind, prompt.subject, prompt.answer)]
    asked += [(fact_nearest_to_cot(layout, key),) for key in others]
    return [fact for way in asked for fact in way]
