"""What is reached belted in from a seat: a prompt for each seat and category, and its mark.

A thing is reached where one of the places that hold it is, by the seats that the layout names for
that very place: a drawer of a cabinet that is reached may lie too low.
"""

from collections.abc import Collection, Iterator

from drills.engine.layout import Layout, Point
from drills.engine.points import points_of
from drills.engine.prompts import Prompt, seat_asked, seat_subject, skill_of
from drills.engine.recipes import REACH, RecipeSpec
from drills.engine.scoring import PARTLY, POCKET, RIGHT, WRONG, Finding, Mark

SEAT = "seat"
_TEXT = "Parked, belted in: which of these can you reach without undoing the belt?"


def reach_prompts(
    layout: Layout, spec: RecipeSpec, _held: Collection[tuple[str, str]]
) -> Iterator[Prompt]:
    """One for each seat and category of which something is reached and something is not.

    None where a recipe looks at some faces or at bags alone: a seat is of no face.
    """
    if spec.faces or spec.bags_only:
        return
    by_category: dict[str, list[str]] = {}
    for thing in layout.things.values():
        by_category.setdefault(thing.category, []).append(thing.key)
    for seat in points_of(layout):
        if seat.kind == SEAT:
            for category, keys in by_category.items():
                yield from _of_seat(layout, seat, category, keys)


def _of_seat(layout: Layout, seat: Point, category: str, keys: list[str]) -> Iterator[Prompt]:
    reached = [key for key in keys if is_reached(layout, key, seat.code)]
    if not 0 < len(reached) < len(keys):
        return
    yield Prompt(
        kind=REACH,
        subject=seat_subject(layout.slug, seat.code, category),
        name=seat.name,
        text=_TEXT,
        depth=POCKET,
        category=category,
        critical=any(layout.things[key].critical for key in reached),
        answer=tuple(sorted(reached)),
        choices=tuple(sorted(keys)),
    )


def is_reached(layout: Layout, thing: str, seat: str) -> bool:
    """Whether a thing, by its key, lies anywhere that is reached from a seat, by its code."""
    places = layout.things[thing].places
    return any(seat in layout.by_code[code].reach_from for code in places)


def first_place(layout: Layout, prompt: Prompt) -> str:
    """The code of the first place that is reached from the seat of a prompt, whatever is asked."""
    seat = seat_asked(prompt.subject)
    return next(each.code for each in layout.compartments if seat in each.reach_from)


def seat_order(layout: Layout, prompt: Prompt) -> int:
    """Which of the layout's points the seat of a prompt is."""
    seat = seat_asked(prompt.subject)
    return [each.code for each in points_of(layout)].index(seat)


def mark_reach(
    subject: str, *, right: Collection[str], choices: Collection[str], answer: Collection[str]
) -> Mark:
    """Judge which things were said to be within reach; all three are keys of things.

    All of them and no other is right; more hits than false ones is partly right. It tells of the
    seat as a whole, which is a skill.
    """
    here, said = set(right) & set(choices), set(answer) & set(choices)
    hits, missed, extra = here & said, here - said, said - here
    outcome = RIGHT if not missed and not extra else PARTLY if len(hits) > len(extra) else WRONG
    return Mark(
        outcome=outcome,
        findings=(Finding(skill_of(REACH, subject), outcome, ""),),
        missed=tuple(sorted(missed)),
        not_there=tuple(sorted(extra)),
    )
