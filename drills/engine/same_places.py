"""Places that a workbook brings as new while others are gone: which of those each may be.

Nobody but the keeper knows, so each new place is a question with the likely ones first. The order
is ours, no source: by how alike the names are, the share of the same items, and the same face,
parent and code.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from heapq import nlargest

from rapidfuzz import fuzz

from drills.engine.layout import Compartment, Layout, item_key

LIKELY_FROM = 0.5  # what is less alike is named after all that is more, by its code
SHOWN = 40  # places to choose from in one question
_NAME, _ITEMS, _FACE, _PARENT, _CODE = 0.35, 0.35, 0.1, 0.1, 0.1


@dataclass(frozen=True, slots=True)
class Gone:
    """A place that is gone, by its key, as the revision before named it.

    `likeness` is from 0, nothing alike, to 1; `shared` of `items` things lie in the new one too.
    """

    key: str
    name: str
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
    name: str
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
    ranked = nlargest(SHOWN, ((_likeness(new, each), -at) for at, each in enumerate(gone)))
    found = tuple(_gone(new, gone[-minus], likeness) for likeness, minus in ranked)
    return Question(new.compartment.code, new.said, found)


def _likeness(new: "_Place", old: "_Place") -> float:
    """How alike two places are, 0 to 1; it is worked out for every pair, so it makes nothing."""
    shared = len(new.items & old.items)
    either = len(new.items) + len(old.items) - shared
    return (
        _NAME * fuzz.ratio(new.words, old.words) / 100
        + (_ITEMS * shared / either if shared else 0)
        + _FACE * (new.face == old.face)
        + _PARENT * (new.parent == old.parent)
        + _CODE * (new.code == old.code)
    )


def _gone(new: "_Place", old: "_Place", likeness: float) -> Gone:
    return Gone(
        key=old.compartment.key,
        name=old.said,
        likeness=likeness,
        shared=len(new.items & old.items),
        items=len(old.items),
        has_same_face=new.face == old.face,
    )


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
    """A compartment with what it is known by; its name with the words in order."""

    def __init__(self, layout: Layout, compartment: Compartment) -> None:
        self.compartment, self.code = compartment, compartment.code
        self.words = " ".join(sorted(item_key(compartment.name).split()))
        self.face = layout.face_of(compartment.code)
        self.said = _said(layout, compartment)
        self.parent = layout.by_code[compartment.inside].key if compartment.inside else ""
        self.items = frozenset(_items_in(layout, compartment.code))


def _said(layout: Layout, each: Compartment) -> str:
    """The code and name, since both may be what changed, and what it lies in."""
    inside = f", in {layout.path(each.inside)}" if each.inside else ""
    return f"{each.code} {each.name}{inside}"


def _items_in(layout: Layout, code: str) -> Iterator[str]:
    """The keys of what lies in a compartment, at any depth."""
    for line in layout.lines_in.get(code, ()):
        yield line.key
    for each in layout.children.get(code, ()):
        yield from _items_in(layout, each.code)
