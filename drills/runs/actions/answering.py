"""Taking an answer: judged once, timed, and kept as evidence."""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime

from django.db import transaction

from drills.competency.actions import SCANNED, SCREEN, Circumstances, record_evidence
from drills.engine.choosing import ChoosingError, refuse_choice
from drills.engine.dosing import UNREADABLE, as_read, judge
from drills.engine.layout import Layout
from drills.engine.moves import ANSWER, refusal
from drills.engine.prompts import HAND_OVER, bag_asked
from drills.engine.recipes import (
    DOSE,
    LOCATE,
    NUMBER_KINDS,
    PLACE_KINDS,
    STAGE,
    TRIAGE,
)
from drills.engine.timing import Claim, judge_time, taken, tapping_baseline
from drills.people.prepared import Prepared
from drills.runs.actions.order import order_taken
from drills.runs.actions.serving import WARM_UPS, source_of
from drills.runs.choices import choices_offered, may_choose
from drills.runs.marking import fair_findings, mark_of
from drills.runs.models import Presentation, PresentationState, Run, TappingBaseline
from drills.runs.numbers import units_of, unread, wanted
from drills.scenarios.models import DrillPrompt
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import figure_asked, problem_in

RETRY = "retry"
BY_SCAN = "This drill is answered by the labels of the rig. Scan one, or say that you do not know."
_LOCKED = Prepared(
    lambda run, token: (
        Presentation.objects.filter(run=run, token=token)
        .select_related("run", "prompt")
        .select_for_update(of=("run", "self"))
        .order_by()
    )
)


class AnswerError(ValueError):
    """An answer that cannot be taken; the text says what came in and what would be accepted."""


class NotOpenError(AnswerError):
    """The prompt was voided, or is none of this run."""


class AnsweredOtherwiseError(AnswerError):
    """The prompt has another answer already; the recorded one stands."""

    def __init__(self, presentation: Presentation) -> None:
        super().__init__("That prompt has an answer already. The first one counts.")
        self.presentation = presentation


@transaction.atomic
def answer_prompt(
    run: Run,
    *,
    token: str,
    tokens: Sequence[str],
    claim: Claim | None,
    now: datetime,
    order: Sequence[str] = (),
    by_label: bool = False,
) -> Presentation:
    """Store the answer to one presentation of one prompt, once, whatever is resent.

    `tokens` stand for places or things as this run's page named them; none at all means *I do not
    know*; `order` is in which order they were taken, and is never marked. Resending the same answer
    gives the stored one back; another answer is refused. A run by scan takes a place from a label
    alone, `by_label`.
    """
    presentation = _locked(run, token)
    layout = layout_asked(run.drill)
    if presentation.state == PresentationState.ANSWERED:
        return _sent_again(presentation, layout, tokens)
    _refuse_late(presentation, now)
    _refuse_unscanned(run, tokens, by_label=by_label)
    answer = _read_answer(presentation, layout, tokens)
    if presentation.is_warm_up and answer != [presentation.subject]:
        raise AnswerError(f"A warm-up: tap {layout.path(presentation.subject)}, then Send.")
    _time(presentation, claim, now)
    presentation.answer, presentation.state = answer, PresentationState.ANSWERED
    if presentation.prompt is None:
        presentation.save()
        _settle_baseline(presentation, now)
    else:
        presentation.taken_order = order_taken(presentation, layout, order)
        _judge(presentation, presentation.prompt, layout)
    return presentation


def _locked(run: Run, token: str) -> Presentation:
    """A presentation of a run, both locked, the run first as in every move of it."""
    found = _LOCKED(run=run.pk, token=token)
    if not found:
        raise NotOpenError("That is no prompt of this drill. Here is the one that is open.")
    found[0].run = run.take_over(found[0].run)
    return found[0]


def _sent_again(presentation: Presentation, layout: Layout, tokens: Sequence[str]) -> Presentation:
    """What is stored, where the same came again; of anything else nothing is to be mended."""
    try:
        is_same = _read_answer(presentation, layout, tokens) == presentation.answer
    except AnswerError as error:
        raise AnsweredOtherwiseError(presentation) from error
    if not is_same:
        raise AnsweredOtherwiseError(presentation)
    return presentation


def _refuse_late(presentation: Presentation, now: datetime) -> None:
    """Refuse where the run stands still, and a prompt that is void, or assessed and left alone:
    what was closed meanwhile may be open again."""
    run = presentation.run
    if (state := run.state_at(now)) not in ANSWER.to:
        raise NotOpenError(refusal(state, ANSWER))
    is_left = not run.is_practice and presentation.is_left_alone(now)
    if presentation.state == PresentationState.VOID or is_left:
        raise NotOpenError("That prompt is void and counts for nothing. Here is the next one.")


def _refuse_unscanned(run: Run, tokens: Sequence[str], *, by_label: bool) -> None:
    """Refuse a place of a run by scan that came from no label; not knowing takes none."""
    if run.by_scan and tokens and not by_label:
        raise AnswerError(BY_SCAN)


def _read_answer(presentation: Presentation, layout: Layout, tokens: Sequence[str]) -> list[str]:
    """Turn tokens back into compartment codes or thing keys; an unknown one is refused."""
    prompt = presentation.prompt
    if prompt is None:
        return _read_of_kind(presentation.run, LOCATE, prompt, layout, tokens)
    if prompt.kind in NUMBER_KINDS:
        return _read_number(tokens, prompt)
    return _read_of_kind(presentation.run, prompt.kind, prompt, layout, tokens)


def _read_of_kind(
    run: Run, kind: str, prompt: DrillPrompt | None, layout: Layout, tokens: Sequence[str]
) -> list[str]:
    most = may_choose(prompt, layout)
    counts = _counted(run, most, tokens)
    if kind in PLACE_KINDS:
        _refuse_places(layout, prompt, list(counts.elements()))
    if prompt is not None and "groups" in prompt.shown:
        return _read_choice(prompt, counts, most)
    if kind == TRIAGE and len(counts) > 1:
        raise AnswerError(f"{len(counts)} categories came in; one is accepted.")
    return _no_more_than_there_are(counts, most) if kind == STAGE else sorted(counts)


def _read_choice(prompt: DrillPrompt, counts: Counter[str], most: Mapping[str, int]) -> list[str]:
    said = sorted(key for key, count in counts.items() for _ in range(min(count, most[key])))
    try:
        refuse_choice(prompt.shown["groups"], said)
    except ChoosingError as error:
        raise AnswerError(str(error)) from error
    return said


def _refuse_places(layout: Layout, prompt: DrillPrompt | None, said: Collection[str]) -> None:
    """One place is chosen, and a bag is not in itself."""
    if len(said) > 1:
        raise AnswerError(f"{len(said)} places came in; one is accepted.")
    bag = bag_asked(prompt.subject) if prompt else ""
    if bag and any(layout.by_code[bag] in layout.chain(code) for code in said):
        raise AnswerError("The bag itself came in. Choose the place in which it is kept.")


def _counted(run: Run, most: Mapping[str, int], tokens: Sequence[str]) -> Counter[str]:
    """The keys that tokens stand for, with how often each came in."""
    known = {run.token_for(key): key for key in most}
    strange = set(tokens) - known.keys()
    if strange:
        raise AnswerError(f"Not on this page, and not accepted: {len(strange)} of what came in.")
    return Counter(known[token] for token in tokens)


def _read_number(said: Sequence[str], prompt: DrillPrompt) -> list[str]:
    """A number with its unit as it was written, or handing it over; what cannot be read, or is of
    another kind, is asked again and never judged.

    What is said of it is the same whatever is right.
    """
    if not said or (list(said) == [HAND_OVER] and prompt.kind == DOSE):
        return list(said)
    came = " ".join(said).strip()
    problem, asked = problem_in(prompt.answer), figure_asked(prompt.answer)
    if judge(problem, asked, came, names_slips=False).verdict == UNREADABLE:
        units = units_of(prompt.shown)
        raise AnswerError(unread(came, units, wanted(problem, asked, units)))
    return [as_read(came)]


def _no_more_than_there_are(counts: Counter[str], most: Mapping[str, int]) -> list[str]:
    for key, count in counts.items():
        if count > most[key]:
            raise AnswerError(f"{count} of one thing came in; {most[key]} lie there.")
    return sorted(counts.elements())


def _time(presentation: Presentation, claim: Claim | None, now: datetime) -> None:
    """Keep all four values, and which figure counts."""
    server = (now - presentation.served_at).total_seconds()
    counted = taken(server, claim)
    presentation.received_at, presentation.server_seconds = now, max(server, 0.0)
    presentation.seconds, presentation.time_state = counted.seconds, counted.state
    presentation.time_verdict = judge_time(
        counted.seconds,
        server=server,
        limit=presentation.limit_seconds,
        cut_off=presentation.cut_off_seconds,
    )
    if claim is not None:
        presentation.client_elapsed = claim.elapsed
        presentation.client_gap, presentation.client_hidden = claim.gap, claim.hidden


def _judge(presentation: Presentation, prompt: DrillPrompt, layout: Layout) -> None:
    mark = mark_of(presentation, prompt, layout)
    presentation.outcome, presentation.near = mark.outcome, mark.near
    presentation.marks = mark.marks
    presentation.place, presentation.depth_reached = mark.place, mark.depth_reached
    presentation.missed, presentation.not_there = list(mark.missed), list(mark.not_there)
    presentation.save()
    if presentation.run.person is not None:
        found = fair_findings(mark, presentation, prompt)
        record_evidence(found, _circumstances(presentation, prompt, layout))


def _circumstances(
    presentation: Presentation, prompt: DrillPrompt, layout: Layout
) -> Circumstances:
    run = presentation.run
    if run.person is None or presentation.received_at is None:
        raise ValueError("Evidence is of a person and a moment; this answer has lost one of them.")
    return Circumstances(
        person=run.person,
        revision=run.drill.revision,
        rig=run.rig,
        at=presentation.received_at,
        kind=prompt.kind,
        depth_asked=prompt.depth,
        choices_offered=choices_offered(prompt, layout),
        chosen_by=RETRY if presentation.is_retry else prompt.chosen,
        predictions=presentation.predictions,
        predicted_by=presentation.predicted_by,
        is_first=not presentation.is_retry,
        seconds=presentation.seconds,
        time_state=presentation.time_state,
        time_verdict=presentation.time_verdict,
        limit_seconds=presentation.limit_seconds,
        allowance=run.allowance,
        device_class=presentation.device_class,
        modality=SCANNED if run.by_scan else SCREEN,
        is_simulated=run.is_simulated,
        source=source_of(presentation.token),
    )


def _settle_baseline(presentation: Presentation, now: datetime) -> None:
    """After each three warm-up taps the middle one is the person's baseline on this device."""
    run, device_class = presentation.run, presentation.device_class
    warm_ups = run.presentations.filter(
        prompt=None, state=PresentationState.ANSWERED, device_class=device_class
    )
    seconds = [each.seconds for each in warm_ups.order_by("order") if each.seconds is not None]
    if run.person is None or len(seconds) % WARM_UPS:
        return
    TappingBaseline.objects.update_or_create(
        person=run.person,
        device_class=device_class,
        defaults={"seconds": tapping_baseline(seconds[-WARM_UPS:]), "measured_at": now},
    )
