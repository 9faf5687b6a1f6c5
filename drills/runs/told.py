"""What a person is told of an answer: what they said, how it was wrong, and what is right."""

from collections.abc import Callable
from dataclasses import dataclass

from drills.engine.layout import Layout
from drills.engine.recipes import LOCATE
from drills.engine.scoring import ELSEWHERE, NEXT_DOOR, OLD_PLACE, RIGHT
from drills.runs.models import Presentation

_NEAR_WORDS = {
    OLD_PLACE: "its old place",
    NEXT_DOOR: "next door",
    ELSEWHERE: "elsewhere",
}
DEPTH_WORDS = {"door": "the door", "shelf": "the shelf", "pocket": "the pocket"}


@dataclass(frozen=True, slots=True)
class Told:
    """The words of one answered prompt. `codes` are where it is, `own` what was said, as codes."""

    name: str
    said: tuple[str, ...]
    near: str
    right_places: tuple[str, ...]
    missed: tuple[str, ...]
    not_there: tuple[str, ...]
    codes: tuple[str, ...]
    own: tuple[str, ...]
    depth_reached: str

    def sentence(self, outcome: str) -> str:
        """One line for a terminal or a table."""
        if outcome == RIGHT:
            return "Right."
        parts = [f"{outcome.capitalize()}."]
        if self.near:
            parts.append(f"That is {self.near}.")
        if self.right_places:
            parts.append(f"It is in {' or '.join(self.right_places)}.")
        if self.missed:
            parts.append(f"You missed: {'; '.join(self.missed)}.")
        if self.not_there:
            parts.append(f"Not in here: {'; '.join(self.not_there)}.")
        return " ".join(parts)


def tell(presentation: Presentation, layout: Layout) -> Told:
    """Put an answered prompt into words; the right places start with the one that counted."""
    prompt = presentation.prompt
    if prompt is None:
        raise ValueError("A warm-up tap has no right answer to tell.")
    is_locate = prompt.kind == LOCATE
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
    )


def _reached(presentation: Presentation, layout: Layout) -> str:
    """How far an answer was right, in words; a bag is no shelf."""
    if any(layout.by_code[code].is_bag for code in presentation.answer):
        return "the bag"
    return DEPTH_WORDS.get(presentation.depth_reached, "")


def _namer(layout: Layout) -> Callable[[str], str]:
    return lambda key: layout.things[key].name


def _counted_first(codes: list[str], place: str) -> tuple[str, ...]:
    return tuple(sorted(codes, key=lambda code: code != place))
