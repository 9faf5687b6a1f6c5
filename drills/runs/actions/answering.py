"""Taking an answer: judged once, timed, and kept as evidence."""

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import datetime

from django.db import transaction

from drills.competency.actions import Circumstances, record_evidence
from drills.engine.dosing import UNREADABLE, UNSAFE, as_read, judge
from drills.engine.facts import bag_fact, facts_of
from drills.engine.layout import Layout
from drills.engine.prompts import HAND_OVER, bag_asked, skill_of
from drills.engine.recipes import (
    CALL_KINDS,
    CONTENTS,
    DOSE,
    LOCATE,
    MOVED,
    NUMBER_KINDS,
    PLACE_KINDS,
    STAGE,
    SUPPLY,
    TRIAGE,
)
from drills.engine.scoring import (
    PARTLY,
    RIGHT,
    WRONG,
    Finding,
    Mark,
    Moved,
    fact_nearest_to_cot,
    mark_bag,
    mark_contents,
    mark_locate,
    nearest_to_cot,
)
from drills.engine.staging import kit_keys, mark_stage, read_kit
from drills.engine.timing import CUT_OFF, Claim, judge_time, taken, tapping_baseline
from drills.engine.triage.measures import RIGHT as SORTED_RIGHT
from drills.engine.triage.measures import judged
from drills.engine.writing import takes_marks
from drills.people.reports import level_above
from drills.rigs.reading import layout_of, moved_by
from drills.runs.actions.order import order_taken
from drills.runs.actions.serving import WARM_UPS, source_of
from drills.runs.models import Presentation, PresentationState, Run, TappingBaseline
from drills.runs.numbers import units_of, unread
from drills.scenarios.models import DrillPrompt
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import figure_asked, problem_in, wanted_in

RETRY = "retry"


class AnswerError(ValueError):
    """An answer that cannot be taken; the text says what came in and what would be accepted."""


class NotOpenError(AnswerError):
    """The prompt was voided, or is none of this run."""


class AnsweredOtherwiseError(AnswerError):
    """The prompt has another answer already; the recorded one stands."""

    def __init__(self, presentation: Presentation) -> None:
        super().__init__("This prompt has an answer already. The first one counts.")
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
) -> Presentation:
    """Store the answer to one presentation of one prompt, once, whatever is resent.

    `tokens` stand for places or things as this run's page named them; none at all means *I do not
    know*; `order` is in which order they were taken, and is never marked. Resending the same answer
    gives the stored one back; another answer is refused.
    """
    presentation = (
        Presentation.objects.select_for_update(of=("self",))
        .select_related(
            "run__drill__revision__layout", "run__drill__since", "run__person", "run__rig", "prompt"
        )
        .filter(run=run, token=token)
        .first()
    )
    if presentation is None or _is_over(presentation, now):
        raise NotOpenError("That prompt is void and counts for nothing. Here is the next one.")
    layout = layout_asked(presentation.run.drill)
    answer = _read_answer(presentation, layout, tokens)
    if presentation.is_warm_up and answer != [presentation.subject]:
        raise AnswerError(f"A warm-up: tap {layout.path(presentation.subject)}, then Send.")
    if presentation.state == PresentationState.ANSWERED:
        if presentation.answer != answer:
            raise AnsweredOtherwiseError(presentation)
        return presentation
    _time(presentation, claim, now)
    presentation.answer, presentation.state = answer, PresentationState.ANSWERED
    if presentation.prompt is None:
        presentation.save()
        _settle_baseline(presentation, now)
    else:
        presentation.taken_order = order_taken(presentation, layout, order)
        _judge(presentation, presentation.prompt, layout)
    return presentation


def _is_over(presentation: Presentation, now: datetime) -> bool:
    """Void, or an assessed prompt left alone: what was closed meanwhile may be open again."""
    if presentation.state == PresentationState.VOID:
        return True
    return not presentation.run.is_practice and presentation.is_left_alone(now)


def _read_answer(presentation: Presentation, layout: Layout, tokens: Sequence[str]) -> list[str]:
    """Turn tokens back into compartment codes or thing keys; an unknown one is refused."""
    prompt = presentation.prompt
    kind = prompt.kind if prompt else LOCATE
    if prompt is not None and kind in NUMBER_KINDS:
        return _read_number(tokens, prompt)
    most = _may_choose(prompt, layout)
    counts = _counted(presentation.run, most, tokens)
    if kind in PLACE_KINDS:
        _refuse_places(layout, prompt, list(counts.elements()))
    if kind == TRIAGE and len(counts) > 1:
        raise AnswerError(f"{len(counts)} categories came in; one is accepted.")
    return _no_more_than_there_are(counts, most) if kind == STAGE else sorted(counts)


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
        raise AnswerError(f"{len(strange)} choices came in that are not on this page.")
    return Counter(known[token] for token in tokens)


def _read_number(said: Sequence[str], prompt: DrillPrompt) -> list[str]:
    """A number with its unit as it was written, or handing it over; what cannot be read, or is of
    another kind, is asked again and never judged.

    What is said of it is the same whatever is right.
    """
    if not said or (list(said) == [HAND_OVER] and prompt.kind == DOSE):
        return list(said)
    came = " ".join(said).strip()
    if judge(problem_in(prompt.answer), figure_asked(prompt.answer), came).verdict == UNREADABLE:
        raise AnswerError(unread(came, units_of(prompt.shown)))
    return [as_read(came)]


def _no_more_than_there_are(counts: Counter[str], most: Mapping[str, int]) -> list[str]:
    for key, count in counts.items():
        if count > most[key]:
            raise AnswerError(f"{count} of one thing came in; {most[key]} lie there.")
    return sorted(counts.elements())


def _may_choose(prompt: DrillPrompt | None, layout: Layout) -> Mapping[str, int]:
    """What the page offers, by key, and how many of each there are."""
    if prompt is not None and prompt.kind == STAGE:
        return kit_keys(layout)
    if prompt is not None and prompt.kind == TRIAGE:
        return {key: 1 for key, *_ in prompt.shown["categories"]}
    if prompt is not None and prompt.kind == CONTENTS:
        return dict.fromkeys(prompt.choices, 1)
    return dict.fromkeys(layout.by_code, 1)


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
    mark = _mark(presentation, prompt, layout)
    presentation.outcome, presentation.near = mark.outcome, mark.near
    presentation.marks = mark.marks
    presentation.place, presentation.depth_reached = mark.place, mark.depth_reached
    presentation.missed, presentation.not_there = list(mark.missed), list(mark.not_there)
    presentation.save()
    if presentation.run.person is not None:
        found = _fair_findings(mark, presentation, prompt)
        record_evidence(found, _circumstances(presentation, prompt, layout))


def _fair_findings(mark: Mark, presentation: Presentation, prompt: DrillPrompt) -> list[Finding]:
    """What an answer says of what is known: on a rig that differs, to answer what the layout says
    tells against nothing that the layout says."""
    drill = presentation.run.drill
    if not drill.differences or prompt.kind in CALL_KINDS:
        return list(mark.findings)
    layout = layout_of(drill.revision)
    said, plainly = facts_of(layout), _mark(presentation, prompt, layout).findings
    blamed = {each.fact.thing for each in plainly if each.outcome == WRONG}
    return [
        each
        for each in mark.findings
        if each.outcome != WRONG or each.fact not in said or each.fact.thing in blamed
    ]


def _mark(presentation: Presentation, prompt: DrillPrompt, layout: Layout) -> Mark:
    """Judge by the kind of prompt. After the cut-off it is closed: nothing was said in time."""
    answer = [] if presentation.time_verdict == CUT_OFF else presentation.answer
    return _MARKS[prompt.kind](presentation, prompt, layout, answer)


def _mark_place(
    presentation: Presentation, prompt: DrillPrompt, layout: Layout, answer: Sequence[str]
) -> Mark:
    moved = moved_by(presentation.run.drill.revision, presentation.run.drill.since)
    if bag := bag_asked(prompt.subject):
        return _mark_bag(layout, bag, prompt.depth, answer, moved)
    if answer:
        return mark_locate(
            layout, thing=prompt.subject, depth=prompt.depth, answer=answer[0], moved=moved
        )
    place = nearest_to_cot(layout, prompt.subject)
    unknown = Finding(fact_nearest_to_cot(layout, prompt.subject), WRONG, "")
    return Mark(outcome=WRONG, place=place, findings=(unknown,))


def _mark_bag(layout: Layout, bag: str, depth: str, answer: Sequence[str], moved: Moved) -> Mark:
    if answer:
        return mark_bag(layout, bag=bag, depth=depth, answer=answer[0], moved=moved)
    unknown = Finding(bag_fact(layout, bag), WRONG, "")
    return Mark(outcome=WRONG, place=layout.by_code[bag].inside, findings=(unknown,))


def _mark_things(
    _presentation: Presentation, prompt: DrillPrompt, layout: Layout, answer: Sequence[str]
) -> Mark:
    return mark_contents(layout, place=prompt.subject, choices=prompt.choices, answer=answer)


def _mark_kit(
    _presentation: Presentation, prompt: DrillPrompt, layout: Layout, answer: Sequence[str]
) -> Mark:
    wanted = wanted_in(prompt.answer)
    found = mark_stage(layout, wanted, read_kit(answer), prompt.answer["tied"])
    skill = Finding(skill_of(prompt.kind, prompt.subject), found.outcome, "")
    missed = tuple(each.wanted.need for each in found.missing)
    return Mark(outcome=found.outcome, findings=(skill,), missed=missed, kit_marks=found.marks)


def _mark_number(
    presentation: Presentation, prompt: DrillPrompt, _layout: Layout, answer: Sequence[str]
) -> Mark:
    """A dose above the person's certification is handed over; any other is worked out."""
    presentation.above = level_above(presentation.run.person, prompt.answer["level"])
    outcome = _number_outcome(prompt, answer, is_above=bool(presentation.above))
    if outcome == RIGHT and presentation.run.drill.marks_writing and takes_marks(answer[0]):
        outcome = PARTLY
    skill = skill_of(prompt.kind, prompt.subject)
    return Mark(outcome=outcome, findings=(Finding(skill, outcome, ""),))


def _mark_sorted(
    _presentation: Presentation, prompt: DrillPrompt, _layout: Layout, answer: Sequence[str]
) -> Mark:
    """The category that the scheme comes to is right; `near` says to which side another erred."""
    kept = prompt.answer
    verdict = judged(kept["family"], right=kept["category"], given=answer[0]) if answer else ""
    outcome = RIGHT if verdict == SORTED_RIGHT else WRONG
    skill = Finding(skill_of(prompt.kind, prompt.subject), outcome, "")
    near = "" if outcome == RIGHT else verdict
    return Mark(outcome=outcome, near=near, findings=(skill,))


def _number_outcome(prompt: DrillPrompt, answer: Sequence[str], *, is_above: bool) -> str:
    if not answer:
        return WRONG
    is_handed_over = answer[0] == HAND_OVER
    if is_handed_over or is_above:
        return RIGHT if is_handed_over and is_above else UNSAFE if is_above else WRONG
    return judge(problem_in(prompt.answer), figure_asked(prompt.answer), answer[0]).verdict


_MARKS: dict[str, Callable[[Presentation, DrillPrompt, Layout, Sequence[str]], Mark]] = {
    LOCATE: _mark_place,
    MOVED: _mark_place,
    CONTENTS: _mark_things,
    STAGE: _mark_kit,
    DOSE: _mark_number,
    SUPPLY: _mark_number,
    TRIAGE: _mark_sorted,
}


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
        choices_offered=0 if prompt.kind in NUMBER_KINDS else len(_may_choose(prompt, layout)),
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
