"""What is told of an answer that was chosen in groups: what was said, what is right, the rule."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drills.engine.choosing import (
    COUNTS,
    ONE,
    SOME,
    category_said,
    mark_chosen,
    one_of,
    right_of,
)
from drills.engine.incidents.asking import judge
from drills.engine.scoring import RIGHT
from drills.scenarios.models import DrillPrompt


@dataclass(frozen=True, slots=True)
class CountTold:
    """A row of counts: the words and colour, how many there are and how many were said."""

    words: str
    colour: str
    are: int
    said: int


@dataclass(frozen=True, slots=True)
class GroupTold:
    """One group in words. `right` is all that is right, `must` what is wrong to leave out.

    It `is_free` where as many may be chosen as one likes. `goes_to` says of what is given out whom
    it was for, where several would have been as right. Of a category that erred, `verdict` says to
    which side, and whether it `is_critical`.
    """

    asks: str
    goes_to: str
    how: str
    is_right: bool
    said: tuple[str, ...]
    right: tuple[str, ...]
    missed: tuple[str, ...]
    wrong: tuple[str, ...]
    counts: tuple[CountTold, ...]
    must: tuple[str, ...] = ()
    is_free: bool = False
    verdict: str = ""
    is_critical: bool = False

    @property
    def others(self) -> tuple[str, ...]:
        """What would have been as right, and was not chosen."""
        return tuple(each for each in self.right if each not in self.said)

    @property
    def is_of_one(self) -> bool:
        return self.how == ONE

    @property
    def is_of_some(self) -> bool:
        return self.how == SOME


@dataclass(frozen=True, slots=True)
class ChosenTold:
    """All groups, what is told of each patient or thing, and the rule with its source."""

    groups: tuple[GroupTold, ...]
    why: tuple[str, ...]
    rule: str
    source: str
    is_unknown: bool

    def sentence(self) -> str:
        """What is right, in one line."""
        return " ".join((*self.right, *self.why))

    @property
    def right(self) -> tuple[str, ...]:
        """What is right of each group, in words."""
        return tuple(f"{each.asks} {', '.join(_right_words(each))}." for each in self.groups)


def chosen_told(prompt: DrillPrompt, said: Sequence[str]) -> ChosenTold:
    """Put an answer to a prompt of groups into words."""
    kept = prompt.answer
    marks = mark_chosen(kept["groups"], said).groups
    told = zip(prompt.shown["groups"], kept["groups"], marks, strict=True)
    return ChosenTold(
        groups=tuple(
            GroupTold(
                asks=shown["asks"],
                goes_to=_goes_to(shown, group),
                how=shown["how"],
                is_right=mark.outcome == RIGHT,
                said=_words(shown, said),
                right=_words(shown, _all_right(group, said)),
                must=(*_words(shown, group["right"]), *_one_of_words(shown, one_of(group))),
                is_free=group["take"] is None,
                missed=(*_words(shown, mark.missed), *_one_of_words(shown, mark.lacking)),
                wrong=_words(shown, mark.wrong),
                counts=_counts(shown, group, said) if shown["how"] == COUNTS else (),
                **_erred(kept, group, said),
            )
            for shown, group, mark in told
        ),
        why=tuple(kept["why"]),
        rule=kept["rule"],
        source=kept["source"],
        is_unknown=not said,
    )


def _erred(
    kept: Mapping[str, Any], group: Mapping[str, Any], said: Sequence[str]
) -> dict[str, Any]:
    """To which side a category erred, in the group that sorts a patient."""
    given = category_said(kept, said) if kept.get("sorts_by") == group["key"] else ""
    if not given or given == kept["category"]:
        return {}
    found = judge(kept["family"], right=kept["category"], given=given)
    return {"verdict": found.verdict, "is_critical": found.is_critical}


def _goes_to(shown: Mapping[str, Any], group: Mapping[str, Any]) -> str:
    """Such as `2. Man; and any 1 of 3. Woman; 4. Boy`; empty where none is as right."""
    if not group["take"] or not group["may"]:
        return ""
    owed, tied = (_words(shown, group[name]) for name in ("right", "may"))
    room = f"any {group['take'] - len(owed)} of {'; '.join(tied)}"
    return "; and ".join(filter(None, ("; ".join(owed), room)))


def _all_right(group: Mapping[str, Any], said: Sequence[str]) -> list[str]:
    return right_of(group, said) if group["how"] == ONE else [*group["right"], *group["may"]]


def _words(shown: Mapping[str, Any], keys: Collection[str]) -> tuple[str, ...]:
    """In the order in which they are shown."""
    return tuple(words for key, words, _ in shown["choices"] if key in keys)


def _counts(
    shown: Mapping[str, Any], group: Mapping[str, Any], said: Sequence[str]
) -> tuple[CountTold, ...]:
    came = Counter(said)
    return tuple(
        CountTold(words, colour, group["counts"].get(key, 0), came[key])
        for key, words, colour in shown["choices"]
    )


def _right_words(group: GroupTold) -> tuple[str, ...]:
    if group.counts:
        return tuple(f"{each.are} {each.words} ({each.colour})" for each in group.counts)
    if group.is_of_one:
        return (" or ".join(group.right),)
    return (group.must or ("none of them",)) if group.is_free else group.right


def _one_of_words(shown: Mapping[str, Any], sets: Iterable[Collection[str]]) -> tuple[str, ...]:
    """Of each of these one is enough."""
    return tuple(" or ".join(_words(shown, keys)) for keys in sets)
