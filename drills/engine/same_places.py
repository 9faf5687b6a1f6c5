"""Places that a workbook brings as new while others are gone: which of those each may be.

Nobody but the keeper knows, so each new place is a question with the likely ones first. The order
is ours, no source: by how alike the names are, the share of the same items, and the same face,
parent and code.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from rapidfuzz import fuzz

from drills.engine.layout import Compartment, Layout, item_key

LIKELY_FROM = 0.5  # what is less alike is named after all that is more, by its code
SHOWN = 40  # places to choose from in one question
_NAME, _ITEMS, _FACE, _PARENT, _CODE = 0.35, 0.35, 0.1, 0.1, 0.1


@dataclass(frozen=True, slots=True)
class Gone:
    """A place that is gone, by its key, as the revision before had it.

    `likeness` is from 0, nothing alike, to 1; `shared` of `items` things lie in the new one too.
    """

    key: str
    path: str
    likeness: float
    shared: int
    items: int
    has_same_face: bool

    @property
    def is_likely(self) -> bool:
        return self.likeness >= LIKELY_FROM


@dataclass(frozen=True, slots=True)
class Question:
    """A place that counts as new, and those that are gone it may be, the likeliest first."""

    code: str
    path: str
    gone: tuple[Gone, ...]


def questions(before: Layout, now: Layout, used: Collection[str]) -> tuple[Question, ...]:
    """What to ask of `now`, the likeliest first.

    Asked of each place whose key the layout never had, while places of `before` are gone. `used`
    are all keys the layout ever had in force; a place that comes back is known by its key.
    """
    kept = {each.key for each in now.compartments}
    known = {*used, *(each.key for each in before.compartments)}
    gone = [_Place(before, each) for each in before.compartments if each.key not in kept]
    new = [_Place(now, each) for each in now.compartments if each.key not in known]
    found = [_question(each, gone) for each in new] if gone else []
    return tuple(sorted(found, key=lambda each: -each.gone[0].likeness))


def _question(new: "_Place", gone: Sequence["_Place"]) -> Question:
    ranked = sorted((_gone(new, each) for each in gone), key=lambda each: -each.likeness)
    return Question(new.compartment.code, new.path, tuple(ranked[:SHOWN]))


def _gone(new: "_Place", old: "_Place") -> Gone:
    shared = len(new.items & old.items)
    either = len(new.items | old.items)
    has_same_face = new.face == old.face
    likeness = (
        _NAME * fuzz.token_sort_ratio(new.name, old.name) / 100
        + _ITEMS * (shared / either if either else 0)
        + _FACE * has_same_face
        + _PARENT * (new.parent == old.parent)
        + _CODE * (new.compartment.code == old.compartment.code)
    )
    return Gone(old.compartment.key, old.path, likeness, shared, len(old.items), has_same_face)


def answered(
    before: Layout, now: Layout, used: Collection[str], answers: Mapping[str, str]
) -> Layout:
    """The layout in which places are those that a keeper says they are.

    `answers` are keys of places that are gone, by the code of the new place that is the same one.
    `ValueError` says which answer is not accepted, and why; then none is.
    """
    new = {each.code for each in questions(before, now, used)}
    kept = {each.key: each.code for each in now.compartments}
    gone = {each.key: each.code for each in before.compartments if each.key not in kept}
    taken: dict[str, str] = {}
    for code, key in answers.items():
        if code not in new:
            raise ValueError(f"{code} came in; the places that count as new are {_listed(new)}.")
        _refuse_key(code, key, kept=kept, gone=gone, taken=taken)
        taken[key] = code
    same = {code: key for key, code in taken.items()}
    return replace(
        now,
        compartments=tuple(
            replace(each, place=same.get(each.code, each.place)) for each in now.compartments
        ),
    )


def _refuse_key(
    code: str,
    key: str,
    *,
    kept: Mapping[str, str],
    gone: Mapping[str, str],
    taken: Mapping[str, str],
) -> None:
    if key in kept:
        raise ValueError(f"{key} came in for {code}; in this draft it is {kept[key]} already.")
    if key not in gone:
        raise ValueError(f"{key} came in for {code}; the places that are gone are {_listed(gone)}.")
    if key in taken:
        raise ValueError(
            f"{gone[key]} came in for {taken[key]} and for {code}. It can be one of them alone."
        )


def _listed(codes: Collection[str]) -> str:
    return ", ".join(sorted(codes)) or "none"


class _Place:
    """A compartment with what it is known by."""

    def __init__(self, layout: Layout, compartment: Compartment) -> None:
        self._layout, self.compartment = layout, compartment
        self.name = item_key(compartment.name)
        self.face = layout.face_of(compartment.code)
        self.path = layout.path(compartment.code)
        inside = compartment.inside
        self.parent = layout.by_code[inside].key if inside else ""

    @cached_property
    def items(self) -> frozenset[str]:
        """The keys of what lies in it, at any depth."""
        open_ends, found = [self.compartment.code], set[str]()
        while open_ends:
            code = open_ends.pop()
            found |= {line.key for line in self._layout.lines_in.get(code, ())}
            open_ends += [each.code for each in self._layout.children.get(code, ())]
        return frozenset(found)
