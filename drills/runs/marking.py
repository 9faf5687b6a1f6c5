"""Judging an answer by the kind of its prompt, and what it says of what is known."""

from collections.abc import Callable, Sequence

from drills.engine.choosing import category_said, mark_chosen
from drills.engine.dosing import UNSAFE, judge
from drills.engine.facts import bag_fact, facts_of
from drills.engine.layout import Layout
from drills.engine.prompts import HAND_OVER, bag_asked, skill_of
from drills.engine.reaching import mark_reach
from drills.engine.recipes import (
    CONTENTS,
    DOSE,
    LOCATE,
    MOVED,
    PLACELESS_KINDS,
    REACH,
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
from drills.engine.staging import mark_stage, read_kit
from drills.engine.timing import CUT_OFF
from drills.engine.triage.measures import RIGHT as SORTED_RIGHT
from drills.engine.triage.measures import judged
from drills.engine.writing import takes_marks
from drills.people.reports import level_above
from drills.rigs.reading import layout_of, moved_by
from drills.runs.models import Presentation
from drills.scenarios.models import DrillPrompt
from drills.scenarios.tasks import figure_asked, problem_in, wanted_in


def fair_findings(mark: Mark, presentation: Presentation, prompt: DrillPrompt) -> list[Finding]:
    """What an answer says of what is known: on a rig that differs, to answer what the layout says
    tells against nothing that the layout says."""
    drill = presentation.run.drill
    if not drill.differences or prompt.kind in PLACELESS_KINDS:
        return list(mark.findings)
    layout = layout_of(drill.revision)
    said, plainly = facts_of(layout), mark_of(presentation, prompt, layout).findings
    blamed = {each.fact.thing for each in plainly if each.outcome == WRONG}
    return [
        each
        for each in mark.findings
        if each.outcome != WRONG or each.fact not in said or each.fact.thing in blamed
    ]


def mark_of(presentation: Presentation, prompt: DrillPrompt, layout: Layout) -> Mark:
    """Judge by the kind of prompt. After the cut-off it is closed: nothing was said in time."""
    answer = [] if presentation.time_verdict == CUT_OFF else presentation.answer
    marks = _mark_choice if "groups" in prompt.shown else _MARKS[prompt.kind]
    return marks(presentation, prompt, layout, answer)


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


def _mark_reach(
    _presentation: Presentation, prompt: DrillPrompt, _layout: Layout, answer: Sequence[str]
) -> Mark:
    return mark_reach(prompt.subject, right=prompt.answer, choices=prompt.choices, answer=answer)


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


def _mark_choice(
    _presentation: Presentation, prompt: DrillPrompt, _layout: Layout, answer: Sequence[str]
) -> Mark:
    """Where one group sorts a patient, `near` says to which side its category erred."""
    kept = prompt.answer
    outcome = mark_chosen(kept["groups"], answer).outcome
    skill = skill_of(prompt.kind, prompt.subject)
    given = category_said(kept, answer) if "family" in kept else ""
    verdict = judged(kept["family"], right=kept["category"], given=given) if given else ""
    near = "" if verdict == SORTED_RIGHT else verdict
    return Mark(outcome=outcome, near=near, findings=(Finding(skill, outcome, ""),))


def _number_outcome(prompt: DrillPrompt, answer: Sequence[str], *, is_above: bool) -> str:
    if not answer:
        return WRONG
    is_handed_over = answer[0] == HAND_OVER
    if is_handed_over or is_above:
        return RIGHT if is_handed_over and is_above else UNSAFE if is_above else WRONG
    problem, asked = problem_in(prompt.answer), figure_asked(prompt.answer)
    # Slips are looked for where they are told: how long that takes would tell a wrong answer.
    return judge(problem, asked, answer[0], names_slips=False).verdict


_MARKS: dict[str, Callable[[Presentation, DrillPrompt, Layout, Sequence[str]], Mark]] = {
    LOCATE: _mark_place,
    MOVED: _mark_place,
    CONTENTS: _mark_things,
    REACH: _mark_reach,
    STAGE: _mark_kit,
    DOSE: _mark_number,
    SUPPLY: _mark_number,
    TRIAGE: _mark_sorted,
}
