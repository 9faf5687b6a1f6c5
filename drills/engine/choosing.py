"""Prompts that are answered by choosing among what is told: who first, how many, who gets it.

What may be chosen stands in groups. How each is judged is frozen beside it as plain data, and told
only once the answer is in. No key of a choice says whether it is right.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drills.engine.scoring import PARTLY, RIGHT, WRONG

ONE, SOME, COUNTS = "one", "some", "counts"
HOWS = (ONE, SOME, COUNTS)
FIRST = "first"
# What stands above somebody who comes from no call.
ALONE = "The patient"


class ChoosingError(ValueError):
    """What was chosen cannot be an answer; the text says what came in and what is accepted."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to choose: its key within the group, its words, and a colour or a word beside."""

    key: str
    words: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """What is asked at once, and how it is judged.

    `how` is one of them, some of them, or a count for each. Of one, any of `right` is right; where
    `by` has the key that another group was answered with, any of those. Of some, all of `right` are
    wanted and at least one of each of `one_of`, `may` cost nothing, and the rest are wrong; with
    `take` so many are chosen, as many of `may` as there is room for: what went to another instead
    is lost to them. What stands in `one_of` is among `may`. `counts` are how
    many of each key. To miss a group that `decides` is to be wrong, another only takes from the
    marks. A long list is laid out in `parts`, each so many choices under a title; what is left
    stands beneath.
    """

    key: str
    asks: str
    how: str
    choices: tuple[Choice, ...]
    right: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    by: tuple[tuple[str, tuple[str, ...]], ...] = ()
    counts: tuple[tuple[str, int], ...] = ()
    take: int | None = None
    decides: bool = True
    one_of: tuple[tuple[str, ...], ...] = ()
    parts: tuple[tuple[str, int], ...] = ()

    def shown(self) -> dict[str, Any]:
        """What a page may show of it."""
        return {
            "key": self.key,
            "asks": self.asks,
            "how": self.how,
            "take": self.take,
            "choices": [[f"{self.key}:{c.key}", c.words, c.note] for c in self.choices],
            **({"parts": [list(each) for each in self.parts]} if self.parts else {}),
        }

    def answer(self) -> dict[str, Any]:
        """What it is judged by."""
        return {
            "key": self.key,
            "how": self.how,
            "right": [f"{self.key}:{each}" for each in self.right],
            "may": [f"{self.key}:{each}" for each in self.may],
            "by": {other: [f"{self.key}:{one}" for one in right] for other, right in self.by},
            "counts": {f"{self.key}:{key}": count for key, count in self.counts},
            "take": self.take,
            "decides": self.decides,
            "one_of": [[f"{self.key}:{each}" for each in some] for some in self.one_of],
        }


@dataclass(frozen=True, slots=True)
class Scale:
    """The group whose choices are categories of a family of triage schemes, so that to miss is to
    err to one side; and the scheme by its name, with where it is from."""

    group: str
    family: str
    scheme: str
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Choosing:
    """A question with its groups, the rule that it is judged by, and where the rule is from.

    `told` are the patients as the page shows them: number, who and findings. `why` are lines that
    are told with the answer. `is_folded` where the patients were met before. `happened` is told
    where the question comes from no call, and `signs` are those of everybody. With a `scale` one
    group sorts the patient.
    """

    task: str
    groups: tuple[Group, ...]
    rule: str
    source: str
    told: tuple[tuple[int, str, str], ...] = ()
    why: tuple[str, ...] = ()
    is_folded: bool = False
    happened: str = ""
    signs: tuple[str, ...] = ()
    scale: Scale | None = None

    def shown(self) -> dict[str, Any]:
        """What a page may show of it."""
        patients = [
            {"number": number, "who": who, "findings": findings, "signs": list(self.signs)}
            for number, who, findings in self.told
        ]
        happened = {"dispatch": self.happened, "about": ALONE} if self.happened else {}
        return happened | {
            "patient": 0,
            "patients": patients,
            "is_folded": self.is_folded,
            "groups": [each.shown() for each in self.groups],
        }

    def answer(self) -> dict[str, Any]:
        """What it is judged by, and what is told after it."""
        return self._sorted() | {
            "task": self.task,
            "groups": [each.answer() for each in self.groups],
            "rule": self.rule,
            "source": self.source,
            "why": list(self.why),
        }

    def _sorted(self) -> dict[str, Any]:
        """The category of the patient, as prompts that sort keep it; nothing without a scale."""
        if self.scale is None:
            return {}
        right = next(each.right for each in self.groups if each.key == self.scale.group)
        return {
            "family": self.scale.family,
            "category": right[0],
            "sorts_by": self.scale.group,
            "scheme": self.scale.scheme,
            "sources": list(self.scale.sources),
        }


@dataclass(frozen=True, slots=True)
class GroupMark:
    """What became of one group: its outcome, what was missed and what was wrong, by key.

    Of each of `lacking` one would have been enough.
    """

    key: str
    outcome: str
    missed: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    lacking: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class ChosenMark:
    """What became of all of them."""

    outcome: str
    groups: tuple[GroupMark, ...]


def category_said(answer: Mapping[str, Any], said: Sequence[str]) -> str:
    """The category that a patient was put in, empty for none; of what was chosen in groups the
    key of the group that sorts."""
    group = answer.get("sorts_by")
    if group is None:
        return said[0] if said else ""
    return next((key.partition(":")[2] for key in said if key.partition(":")[0] == group), "")


def chosen_most(groups: Sequence[Mapping[str, Any]], most: int) -> dict[str, int]:
    """How often each key of the groups shown may come in: once, or as a count up to `most`."""
    return {
        key: most if group["how"] == COUNTS else 1
        for group in groups
        for key, *_ in group["choices"]
    }


def refuse_choice(groups: Sequence[Mapping[str, Any]], said: Sequence[str]) -> None:
    """Raise `ChoosingError` for too many of a group, or none of one that asks for one.

    What is said of it is the same whatever is right. Nothing at all is *I do not know*.
    """
    for group in groups if said else ():
        came = sum(key in said for key, *_ in group["choices"])
        if group["how"] == ONE and came != 1:
            raise ChoosingError(f"{group['asks']} {_came(came)}; one is accepted.")
        if group["take"] is not None and came > group["take"]:
            raise ChoosingError(
                f"{group['asks']} {came} came in; at most {group['take']} are accepted."
            )


def _came(count: int) -> str:
    return f"{count} came in" if count else "Nothing was chosen"


def mark_chosen(groups: Sequence[Mapping[str, Any]], said: Sequence[str]) -> ChosenMark:
    """Judge what was chosen by the groups of the answer; nothing said is wrong."""
    marks = tuple(_MARKS[group["how"]](group, said) for group in groups)
    outcomes = [
        PARTLY if mark.outcome == WRONG and not group["decides"] else mark.outcome
        for group, mark in zip(groups, marks, strict=True)
    ]
    is_wrong = not said or WRONG in outcomes
    outcome = WRONG if is_wrong else PARTLY if PARTLY in outcomes else RIGHT
    return ChosenMark(outcome, marks)


def right_of(group: Mapping[str, Any], said: Sequence[str]) -> list[str]:
    """Which keys of a group of one are right, by what another was answered with where that counts.

    Where the other was answered wrongly, what was right of any.
    """
    by = group["by"]
    if not by:
        return list(group["right"])
    found = [right for other, right in by.items() if other in said] or list(by.values())
    return list(dict.fromkeys(key for right in found for key in right))


def one_of(group: Mapping[str, Any]) -> list[tuple[str, ...]]:
    """Keys of which one is enough, as they stand together; prompts of before have none."""
    return [tuple(some) for some in group.get("one_of", ())]


def _one_of_each(sets: Sequence[tuple[str, ...]], said: Sequence[str]) -> list[str]:
    """The first of each set of which nothing was said yet."""
    found: list[str] = []
    for some in sets:
        found += () if set(some) & {*said, *found} else some[:1]
    return found


def one_right(groups: Sequence[Mapping[str, Any]]) -> list[str]:
    """An answer that is right: the first of those that are."""
    said: list[str] = []
    for group in groups:
        if group["how"] == ONE:
            said += right_of(group, said)[:1]
        room = max((group["take"] or 0) - len(group["right"]), 0)
        if group["how"] == SOME:
            said += [*group["right"], *group["may"][:room]]
            said += _one_of_each(one_of(group), said)
        said += [key for key, count in group["counts"].items() for _ in range(count)]
    return sorted(said)


def _mark_one(group: Mapping[str, Any], said: Sequence[str]) -> GroupMark:
    own = _own(group, said)
    right = right_of(group, said)
    is_right = bool(own) and all(key in right for key in own)
    return GroupMark(group["key"], RIGHT if is_right else WRONG, wrong=() if is_right else own)


def _mark_some(group: Mapping[str, Any], said: Sequence[str]) -> GroupMark:
    own = _own(group, said)
    missed = tuple(key for key in group["right"] if key not in own)
    lacking = tuple(some for some in one_of(group) if not set(some) & set(own))
    wrong = tuple(key for key in own if key not in (*group["right"], *group["may"]))
    full = min(group["take"] or 0, len(group["right"]) + len(group["may"]))
    outcome = _of_some(
        is_missed=bool(missed or lacking) or bool(full and not own),
        is_any_wrong=bool(wrong),
        is_short=len(own) - len(wrong) < full,
    )
    return GroupMark(group["key"], outcome, missed, wrong, lacking)


def _of_some(*, is_missed: bool, is_any_wrong: bool, is_short: bool) -> str:
    """What went to another while somebody goes without is lost to them."""
    if is_missed or (is_any_wrong and is_short):
        return WRONG
    return PARTLY if is_any_wrong or is_short else RIGHT


def _mark_counts(group: Mapping[str, Any], said: Sequence[str]) -> GroupMark:
    came = Counter(_own(group, said))
    off = tuple(key for key, count in group["counts"].items() if came[key] != count)
    return GroupMark(group["key"], WRONG if off else RIGHT, wrong=off)


def _own(group: Mapping[str, Any], said: Sequence[str]) -> tuple[str, ...]:
    return tuple(key for key in said if key.partition(":")[0] == group["key"])


_MARKS = {ONE: _mark_one, SOME: _mark_some, COUNTS: _mark_counts}
