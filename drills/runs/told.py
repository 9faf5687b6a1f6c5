"""What a person is told of an answer: what they said, how it was wrong, and what is right."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from drills.engine.calls import MUST, USEFUL
from drills.engine.incidents.asking import judge as judge_sorted
from drills.engine.layout import Layout
from drills.engine.prompts import HAND_OVER
from drills.engine.recipes import (
    CONTENTS,
    DOSE,
    LOCATE,
    MOVED,
    PLACE_KINDS,
    REACH,
    STAGE,
    SUPPLY,
    TRIAGE,
)
from drills.engine.scoring import ELSEWHERE, NEXT_DOOR, OLD_PLACE, RIGHT
from drills.engine.staging import Kit, Missing, StageMark, mark_stage, read_kit
from drills.engine.triage import Category, category
from drills.engine.wanted import Wanted, musts
from drills.people.reports import level_above
from drills.runs.chosen import ChosenTold, chosen_told
from drills.runs.models import Presentation
from drills.runs.numbers import Figure, figures_of
from drills.runs.worked import Worked, worked
from drills.scenarios.models import DrillPrompt
from drills.scenarios.tasks import wanted_in

_NEAR_WORDS = {
    OLD_PLACE: "its old place",
    NEXT_DOOR: "next door",
    ELSEWHERE: "elsewhere",
}
DEPTH_WORDS = {"door": "the door", "shelf": "the shelf", "pocket": "the pocket"}


@dataclass(frozen=True, slots=True)
class Told:
    """The words of one answered prompt. `codes` are where it is, `own` what was said, as codes.

    `call` is what the page showed of the call it came from, `figures` what it told of a number.
    `behind_lock` are those of the words that tell what is kept behind a lock, and are not printed.
    """

    name: str
    said: tuple[str, ...]
    near: str
    right_places: tuple[str, ...]
    missed: tuple[str, ...]
    not_there: tuple[str, ...]
    codes: tuple[str, ...]
    own: tuple[str, ...]
    depth_reached: str
    kit: "KitTold | None" = None
    dose: Worked | None = None
    figures: tuple[Figure, ...] = ()
    call: Mapping[str, Any] | None = None
    sorted_as: "SortedTold | None" = None
    chosen: ChosenTold | None = None
    is_reach: bool = False
    behind_lock: frozenset[str] = frozenset()

    @property
    def not_there_words(self) -> str:
        """What is said of things that were chosen wrongly."""
        return "Out of reach" if self.is_reach else "Not in here"

    def sentence(self, outcome: str) -> str:
        """One line for a terminal or a table."""
        if of_call := self.dose or self.sorted_as or self.chosen:
            return f"{outcome.capitalize()}. {of_call.sentence()}"
        if outcome == RIGHT:
            return "Right."
        told = (
            (self.near, f"That is {self.near}."),
            (self.right_places, f"It is in {' or '.join(self.right_places)}."),
            (self.missed, f"You missed: {'; '.join(self.missed)}."),
            (self.not_there, f"{self.not_there_words}: {'; '.join(self.not_there)}."),
        )
        parts = [f"{outcome.capitalize()}.", *(words for found, words in told if found)]
        return " ".join(parts)


@dataclass(frozen=True, slots=True)
class KitTold:
    """A kit in words. `missing` are what was not brought, why it is needed, where it lies and the
    number of that place on the plan, of `needed` must-haves; `costs` what took marks; `served`
    what did instead of something; `unjudged` what is tied to no need, and `unconfirmed` what is
    tied by a suggestion that no keeper has confirmed. `useful` is what would have helped and was
    not brought, as `missing` tells it."""

    marks: int
    needed: int
    missing: tuple[tuple[str, str, str, int], ...]
    costs: tuple[str, ...]
    served: tuple[str, ...]
    unjudged: tuple[str, ...]
    short: tuple[str, ...]
    hand_over: tuple[str, ...] = ()
    unconfirmed: tuple[str, ...] = ()
    useful: tuple[tuple[str, str, str, int], ...] = ()

    @property
    def brought(self) -> int:
        """How many of the must-haves were brought, in full number."""
        return self.needed - len(self.missing)


@dataclass(frozen=True, slots=True)
class SortedTold:
    """A category that was given, or none: the right one in words, and the branches to it.

    `scheme` is what the drill was made by, with the sources of those branches; empty of old ones.
    """

    right: str
    path: tuple[str, ...]
    given: str = ""
    verdict: str = ""
    is_critical: bool = False
    scheme: str = ""
    sources: tuple[str, ...] = ()

    def sentence(self) -> str:
        """The way through the chart in one line."""
        return " ".join((*self.path, f"{self.right}."))


def tell(presentation: Presentation, layout: Layout) -> Told:
    """Put an answered prompt into words; the right places start with the one that counted."""
    prompt = presentation.prompt
    if prompt is None:
        raise ValueError("A warm-up tap has no right answer to tell.")
    if "groups" in prompt.shown:
        return _tell_chosen(presentation, prompt)
    return _TELLERS[prompt.kind](presentation, prompt, layout)


def _tell_things(presentation: Presentation, prompt: DrillPrompt, layout: Layout) -> Told:
    is_locate = prompt.kind in PLACE_KINDS
    codes = _counted_first(prompt.answer, presentation.place) if is_locate else ()
    name_of = layout.path if is_locate else _namer(layout)
    return Told(
        name=prompt.name,
        said=tuple(map(name_of, presentation.answer)),
        near=_NEAR_WORDS.get(presentation.near, ""),
        right_places=tuple(layout.path(code) for code in codes),
        missed=tuple(map(_namer(layout), presentation.missed)),
        not_there=tuple(map(_namer(layout), presentation.not_there)),
        codes=codes,
        own=tuple(presentation.answer) if is_locate else (),
        depth_reached=_reached(presentation, layout) if is_locate else "",
        is_reach=prompt.kind == REACH,
        behind_lock=_behind_lock(layout, presentation, codes),
    )


def _behind_lock(
    layout: Layout, presentation: Presentation, codes: Sequence[str]
) -> frozenset[str]:
    """The places that are locked, of those where it is and those that were said; of what is in a
    locked place all that was missed."""
    prompt = presentation.prompt
    if prompt is not None and prompt.kind == CONTENTS:
        is_locked = layout.is_locked(prompt.subject)
        return frozenset(map(_namer(layout), presentation.missed if is_locked else ()))
    said = presentation.answer if codes else ()
    return frozenset(layout.path(code) for code in (*codes, *said) if layout.is_locked(code))


def _tell_kit(presentation: Presentation, prompt: DrillPrompt, layout: Layout) -> Told:
    wanted, kit = wanted_in(prompt.answer), read_kit(presentation.answer)
    found = mark_stage(layout, wanted, kit, prompt.answer["tied"])
    person = presentation.run.person
    above = {each.level: level_above(person, each.level) for each in musts(wanted)}
    unconfirmed = set(prompt.answer.get("unconfirmed", ()))
    brought = {thing for _, thing in kit.lines} | {
        thing for each in found.missing for thing in each.wanted.serving
    }
    told = replace(
        _kit_told(found, musts(wanted), layout),
        unconfirmed=tuple(map(_namer(layout), sorted(unconfirmed & brought))),
        useful=tuple(
            _missing_words(each, layout, {}) for each in _left_useful(layout, wanted, kit)
        ),
        hand_over=tuple(
            f"{each.name} ({above[each.level]})" for each in musts(wanted) if above[each.level]
        ),
    )
    return Told(
        name=prompt.name,
        said=_kit_words(kit, layout),
        near="",
        right_places=(),
        missed=tuple(what for what, *_ in told.missing),
        not_there=(),
        codes=_places(layout, found),
        own=(),
        depth_reached="",
        kit=told,
        call=prompt.shown,
        behind_lock=frozenset(_locked_words(kit, told, layout)),
    )


def _kit_told(found: StageMark, needed: Sequence[Wanted], layout: Layout) -> KitTold:
    name_of = _namer(layout)
    numbers = {code: number for number, code in enumerate(_places(layout, found), 1)}
    return KitTold(
        marks=found.marks,
        needed=sum(1 for each in needed if each.quantity),
        missing=tuple(_missing_words(each, layout, numbers) for each in found.missing),
        costs=tuple(_cost_words(found, layout)),
        served=tuple(f"{name_of(thing)} for {each.name}" for thing, each in found.instead),
        unjudged=tuple(map(name_of, found.unjudged)),
        short=tuple(f"{each.short} x {each.name}" for each in needed if each.short),
    )


def _left_useful(layout: Layout, wanted: Sequence[Wanted], kit: Kit) -> Iterable[Missing]:
    """What would have been useful and was not brought, or not enough of it, when the must-haves
    have had theirs; it costs nothing."""
    asked = sorted(
        (each for each in wanted if each.grade in (MUST, USEFUL)),
        key=lambda each: each.grade == USEFUL,
    )
    as_musts = [replace(each, grade=MUST) for each in asked]
    useful = {each.need for each in asked if each.grade == USEFUL}
    missing = mark_stage(layout, as_musts, kit, ()).missing
    return (each for each in missing if each.wanted.need in useful)


def _cost_words(found: StageMark, layout: Layout) -> Iterable[str]:
    """What took marks of a kit, a line for each."""
    name_of = _namer(layout)
    yield from (f"{name_of(thing)}, brought for {each.name}" for thing, each in found.wrong)
    yield from (f"{name_of(thing)}, not asked for" for thing in found.needless)
    yield from (f"{name_of(thing)}, more than twice what was asked for" for thing in found.excess)
    for code in found.idle_bags:
        yield f"{layout.path(code)}, whole, for nothing that was asked"


def _tell_number(presentation: Presentation, prompt: DrillPrompt, _layout: Layout) -> Told:
    shown, above = prompt.shown, presentation.above
    told = worked(
        prompt.answer,
        presentation.answer,
        notice=shown.get("notice", ""),
        above=above,
        is_marked=presentation.run.drill.marks_writing,
    )
    return Told(
        name=_name_of(prompt),
        said=tuple(presentation.answer),
        near="",
        right_places=(),
        missed=(HAND_OVER if above else told.answer,),
        not_there=(),
        codes=(),
        own=(),
        depth_reached="",
        dose=told,
        figures=figures_of(shown, are_syringes_drawn=False),
        call=shown,
    )


def _tell_sorted(presentation: Presentation, prompt: DrillPrompt, _layout: Layout) -> Told:
    kept, said = prompt.answer, presentation.answer
    family, right = kept["family"], kept["category"]
    told = SortedTold(_category_words(category(family, right)), tuple(kept["path"][:-1]))
    told = replace(told, scheme=kept.get("scheme", ""), sources=tuple(kept.get("sources", ())))
    if said:
        found = judge_sorted(family, right=right, given=said[0])
        told = replace(
            told,
            given=_category_words(found.given),
            verdict="" if found.is_right else found.verdict,
            is_critical=found.is_critical,
        )
    return Told(
        name=prompt.name,
        said=(told.given,) if told.given else (),
        near=told.verdict,
        right_places=(),
        missed=() if presentation.outcome == RIGHT else (told.right,),
        not_there=(),
        codes=(),
        own=(),
        depth_reached="",
        call=prompt.shown,
        sorted_as=told,
    )


def _tell_chosen(presentation: Presentation, prompt: DrillPrompt) -> Told:
    told = chosen_told(prompt, presentation.answer)
    return Told(
        name=prompt.name,
        said=tuple(words for each in told.groups for words in each.said),
        near=presentation.near,
        right_places=(),
        missed=() if presentation.outcome == RIGHT else told.right,
        not_there=(),
        codes=(),
        own=(),
        depth_reached="",
        call=prompt.shown,
        chosen=told,
    )


def _category_words(found: Category) -> str:
    return f"{found.word} ({found.colour})"


def _name_of(prompt: DrillPrompt) -> str:
    """What was asked: the medicine and what it is for, or the question."""
    shown = prompt.shown
    if "medicine" not in shown:
        return prompt.name
    return f"{shown['medicine']}, {shown['route']}: {shown['indication']}"


def _missing_words(
    each: Missing, layout: Layout, numbers: Mapping[str, int]
) -> tuple[str, str, str, int]:
    code = _where(layout, each.wanted)
    what = f"{each.wanted.name}: {each.brought} of {each.wanted.quantity}"
    return what, each.wanted.why, layout.path(code) if code else "", numbers.get(code, 0)


def _places(layout: Layout, found: StageMark) -> tuple[str, ...]:
    """Where what was not brought lies, each place once, in the order of the numbers on the plan."""
    places = (_where(layout, each.wanted) for each in found.missing)
    return tuple(dict.fromkeys(filter(None, places)))


def _where(layout: Layout, wanted: Wanted) -> str:
    """Where a thing that was missed lies; the first of its places is enough to look at."""
    return next((code for thing in wanted.serving for code in layout.things[thing].places), "")


def _kit_words(kit: Kit, layout: Layout) -> tuple[str, ...]:
    bags = [f"{layout.path(code)}, whole" for code in sorted(kit.bags)]
    lines = [
        f"{count} x {layout.things[thing].name}, {layout.path(code)}"
        for (code, thing), count in kit.lines.items()
    ]
    return (*bags, *lines)


def _locked_words(kit: Kit, told: KitTold, layout: Layout) -> Iterable[str]:
    """What was brought from behind a lock, and where it lies of what was not."""
    lines = {key: count for key, count in kit.lines.items() if layout.is_locked(key[0])}
    yield from _kit_words(Kit(lines, frozenset()), layout)
    locked = {layout.path(code) for code in layout.by_code if layout.is_locked(code)}
    yield from (where for _, _, where, _ in (*told.missing, *told.useful) if where in locked)


def _reached(presentation: Presentation, layout: Layout) -> str:
    """How far an answer was right, in words; a bag is no shelf."""
    if any(layout.by_code[code].is_bag for code in presentation.answer):
        return "the bag"
    return DEPTH_WORDS.get(presentation.depth_reached, "")


def _namer(layout: Layout) -> Callable[[str], str]:
    return lambda key: layout.things[key].name


def _counted_first(codes: list[str], place: str) -> tuple[str, ...]:
    return tuple(sorted(codes, key=lambda code: code != place))


_TELLERS: dict[str, Callable[[Presentation, DrillPrompt, Layout], Told]] = {
    LOCATE: _tell_things,
    MOVED: _tell_things,
    CONTENTS: _tell_things,
    REACH: _tell_things,
    STAGE: _tell_kit,
    DOSE: _tell_number,
    SUPPLY: _tell_number,
    TRIAGE: _tell_sorted,
}
