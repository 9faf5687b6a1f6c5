"""One injured patient drawn: a criterion is aimed at, and the published table says what is met.

What does not come out as it was aimed at is drawn anew, so that nothing but the findings ever
decides.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from random import Random
from types import MappingProxyType
from typing import Any

from drills.engine.calls import AgeBand
from drills.engine.chance import drawn, drawn_evenly
from drills.engine.dispatch import draw_age, who_is
from drills.engine.injured.signs import (
    FIGURES,
    PULSE,
    RATE,
    SIGNS,
    SYSTOLIC,
    breathing_words,
    is_of_kind,
    put_beside,
    put_beyond,
    strain,
    told_happening,
    usual_figures,
)
from drills.engine.injured.tables import (
    AGE,
    ANY,
    BY_KEY,
    CRITERIA,
    DECOY,
    DETAILS,
    HAPPENINGS,
    KEY_OF,
    LEVELS,
    NONE,
    USUAL,
    Criterion,
    Detail,
    Happening,
    Level,
    findings_of,
    limit_of,
)
from drills.engine.knobs import lawful
from drills.engine.triage.field import criteria_met, field_triage

CATEGORIES = RED, YELLOW, NEITHER = ("red", "yellow", "neither")
YOUNGEST, OLDEST = 2, 92
# Ages are drawn from these, each as often as it says where all are open: ours, no source.
_BANDS = (((2, 9), 0.2), ((10, 64), 0.5), ((65, 92), 0.3))
_TRIES = 400
# How often what happened meets nothing beside what is aimed at, where it may: ours.
_PLAIN = 0.7
_NOBODY: Mapping[str, Any] = {
    "injuries": [],
    "crash": [],
    "mechanism": [],
    "judgement": [],
    "follows_commands": True,
    "distress": False,
    "support": False,
}
# Kinds of happening after which a wound is seen, and where it may be.
_WOUNDED, _WOUNDS = frozenset({"sharp", "arm", "leg"}), frozenset({"limb", "torso", "neck"})
_SLIGHT = frozenset({"bed"})
# What is sore or numb is told by who can be asked.
_ASKED_OF = frozenset({"back", "chest", "pelvis"})
_HEAD, _BEFORE = frozenset({"head", "mind"}), "before"
# At these ages a fall from low down with the head struck is a criterion: what is told of the head
# of who fell further would leave open whether it was met.
_HEAD_COUNTS = ((2, 5), (65, 92))

_OfAges = Criterion | Happening | Detail


@dataclass(frozen=True, slots=True)
class Injured:
    """A patient: the kind of happening and how it came about, what is found, and what the
    published table makes of it.

    `findings` are in the shape that `field_triage` reads; `met` are the keys of all criteria that
    they meet. `aim` is the key that was aimed at, and is never shown. `is_near`: at its limit.
    """

    age_y: int
    is_female: bool
    kind: str
    happened: str
    found: tuple[str, ...]
    findings: Mapping[str, Any]
    category: str
    met: tuple[str, ...]
    aim: str
    is_near: bool

    @property
    def who(self) -> str:
        return who_is(float(self.age_y), is_female=self.is_female)


def draw_category(random: Random, *, difficulty: int) -> str:
    """Which category a patient is to come to, by the shares of a difficulty."""
    level = LEVELS[lawful(difficulty)]
    return drawn(CATEGORIES, [float(getattr(level, name)) for name in CATEGORIES], random)


def draw_injured(
    random: Random, *, difficulty: int, used: Collection[str] = (), category: str = ""
) -> Injured:
    """A patient by the knobs of a difficulty from 1 to 5, of a category that is drawn as well where
    none is named; no criterion of `used` is aimed at while others are left."""
    level = LEVELS[lawful(difficulty)]
    category = category or draw_category(random, difficulty=difficulty)
    is_near = random.random() < level.near
    aim = _aim(category, used, random, is_near=is_near)
    also = category == RED and random.random() < level.also
    for _ in range(_TRIES):
        made = _Attempt(level, category, aim, is_near, random).patient(also=also)
        if made is not None:
            return made
    raise ValueError(f"{aim.key if aim else category}: no patient comes out of it.")


def _aim(
    category: str, used: Collection[str], random: Random, *, is_near: bool
) -> Criterion | None:
    """The criterion to meet, or whose limit to stop short of; nothing where nothing is close."""
    if category == NEITHER and not is_near:
        return None
    fits = [
        each
        for each in CRITERIA
        if category in (NEITHER, each.branch.leads_to) and (each.has_limit or not is_near)
    ]
    return drawn_evenly([each for each in fits if each.key not in used] or fits, random)


@dataclass(slots=True)
class _Attempt:
    """One try to draw a patient; `is_near` is told of the aim alone."""

    level: Level
    category: str
    aim: Criterion | None
    is_near: bool
    random: Random
    details: list[Detail] = field(default_factory=list)
    figures: dict[str, int] = field(default_factory=dict)

    def patient(self, *, also: bool) -> Injured | None:
        """Who comes out; None where they are not as was aimed at, or nothing fits together."""
        aims = [each for each in (self.aim, self._second() if also else None) if each]
        happening = self._happening(aims)
        age = self._age(aims, happening) if happening else None
        if happening is None or age is None:
            return None
        is_female = self.random.random() < 0.5 or self._is_of_women()
        self._put_figures(aims, happening, age)
        self._add_decoys(happening, age, is_female=is_female)
        self._add_wound(happening)
        return self._judged(happening, age, is_female=is_female, also=also)

    def _is_of_women(self) -> bool:
        return any(each.sex != ANY for each in self.details)

    def _second(self) -> Criterion:
        return drawn_evenly(
            [each for each in CRITERIA if each.branch.leads_to == YELLOW], self.random
        )

    def _happening(self, aims: Sequence[Criterion]) -> Happening | None:
        """One that every aim may come of, with the details that bring them about; what meets
        anything else is drawn anew later."""
        brought = {part for aim in aims for part in aim.brings}
        fits = [each for each in HAPPENINGS if self._may_be(each, aims)]
        plain = [each for each in fits if brought.issuperset(each.brings)]
        is_plain = not self.level.decoys or self.random.random() < _PLAIN
        pool = plain if is_plain else fits
        if not pool:
            return None
        happening = drawn_evenly(pool, self.random)
        self.details += self._found(brought - set(happening.brings), happening)
        return happening

    def _may_be(self, happening: Happening, aims: Sequence[Criterion]) -> bool:
        """A slight one is told of nobody who is badly hurt: it would not be believed."""
        if happening.is_decoy and not self.level.decoys:
            return False
        if self.category == RED and (happening.is_decoy or happening.kind in _SLIGHT):
            return False
        return all(_may_come_of(aim, happening) for aim in aims)

    def _found(self, parts: Collection[str], happening: Happening) -> list[Detail]:
        """A detail for each part that the happening does not bring about itself."""
        fits = [
            [each for each in DETAILS if part in each.brings and each.fits(happening.kind)]
            for part in sorted(parts)
        ]
        return [drawn_evenly(each, self.random) for each in fits]

    def _age(self, aims: Sequence[Criterion], happening: Happening) -> int | None:
        """An age that all of it goes with; at the limit where the aim has one of age."""
        rows: list[_OfAges] = [*aims, happening, *self.details]
        age = self._age_at_limit()
        if age is None:
            low = max(YOUNGEST, *(each.from_y for each in rows))
            return _drawn_age(low, min(OLDEST, *(each.to_y for each in rows)), self.random)
        fits = all(each.from_y <= age <= each.to_y for each in rows if each is not self.aim)
        return age if fits else None

    def _age_at_limit(self) -> int | None:
        """The age that just meets the aim or just misses it; None where it has no such limit."""
        if self.aim is None or self.aim.edge != AGE:
            return None
        met, missed = limit_of(self.aim.key, 0)
        if self.category == NEITHER:
            return missed
        return met if self.is_near else None

    def _put_figures(self, aims: Sequence[Criterion], happening: Happening, age: int) -> None:
        self.figures = usual_figures(happening.kind, age, self.random)
        strain(self.figures, self._brought(), self.random)
        for aim in aims:
            self._set_figure(aim, age)

    def _brought(self) -> list[str]:
        return [part for each in self.details for part in each.brings]

    def _set_figure(self, aim: Criterion, age: int) -> None:
        """The figure of an aim: beyond its limit, at it, or just short of it."""
        if aim.edge not in FIGURES:
            return
        if aim is self.aim and self.category == NEITHER:
            put_beside(self.figures, aim, age, 0)
        else:
            is_near = self.is_near and aim is self.aim
            put_beyond(self.figures, aim, age, self.random, is_near=is_near)

    def _add_decoys(self, happening: Happening, age: int, *, is_female: bool) -> None:
        """What looks grave and meets nothing: a figure short of its limit, or a detail."""
        for _ in range(self.level.decoys):
            figures = self._figures_left(happening, age)
            if figures and self.random.random() < 0.5:
                off = (
                    0
                    if self.random.random() < self.level.near
                    else 1 + int(self.random.random() * 4)
                )
                put_beside(self.figures, drawn_evenly(figures, self.random), age, off)
            elif fits := self._decoys(happening, age, is_female=is_female):
                self.details.append(drawn_evenly(fits, self.random))

    def _figures_left(self, happening: Happening, age: int) -> list[Criterion]:
        """Criteria with a limit of a figure that is as usual still."""
        aimed = self.aim.edge if self.aim else NONE
        # A pulse is over the pressure or is not by the pressure it was drawn for.
        usual = self.figures.keys() - {aimed, SYSTOLIC if aimed == PULSE else aimed}
        return [
            each
            for each in CRITERIA
            if each.edge in usual
            and each.from_y <= age <= each.to_y
            and (each.edge in SIGNS or is_of_kind(each.edge, happening.kind))
        ]

    def _decoys(self, happening: Happening, age: int, *, is_female: bool) -> list[Detail]:
        """What may be told beside, of the parts that nothing is told about yet."""
        is_mute = "follows_commands no" in self._brought()
        told = {each.about for each in self.details} | (_ASKED_OF if is_mute else set())
        decoys = [each for each in DETAILS if each.use == DECOY and each.about not in told]
        return [
            each
            for each in decoys
            if each.is_of(happening.kind, age, is_female=is_female)
            and not _blurs(each, happening, age)
        ]

    def _add_wound(self, happening: Happening) -> None:
        """After a blade or a machine something is seen."""
        told = {each.about for each in self.details}
        if happening.kind in _WOUNDED and not told & {*_WOUNDS, "bleeding"}:
            fits = [
                each
                for each in DETAILS
                if each.use == DECOY and each.about == "limb" and each.fits(happening.kind)
            ]
            self.details.append(drawn_evenly(fits, self.random))

    def _told(self, age: int) -> tuple[str, ...]:
        """The details in the order of the table, how somebody breathes, and what was before."""
        rows = sorted(self.details, key=DETAILS.index)
        body = [each.words for each in rows if each.about != _BEFORE]
        if not any(each.about == "breath" for each in rows):
            body.append(breathing_words(self.figures[RATE], age))
        return (*body, *(each.words for each in rows if each.about == _BEFORE))

    def _judged(
        self, happening: Happening, age: int, *, is_female: bool, also: bool
    ) -> Injured | None:
        """Who was drawn, by the published table; None for who is not as was aimed at, or of whom
        it is left open."""
        is_blurred = any(_blurs(each, happening, age) for each in self.details)
        brought = dict.fromkeys((*happening.brings, *self._brought()))
        findings = {**_NOBODY, **self.figures, AGE: age, **findings_of(brought)}
        if is_blurred or not self._is_as_aimed(findings, also=also):
            return None
        self.details += _usual(self.details)
        return Injured(
            age_y=age,
            is_female=is_female,
            kind=happening.kind,
            happened=told_happening(happening.words, happening.kind, self.figures),
            found=self._told(age),
            findings=MappingProxyType(findings),
            category=self.category,
            met=_keys_met(findings),
            aim=self.aim.key if self.aim else "",
            is_near=self.is_near,
        )

    def _is_as_aimed(self, findings: Mapping[str, Any], *, also: bool) -> bool:
        """Whether the category is the one that was drawn, and by the criterion that was."""
        met = _keys_met(findings)
        levels = {BY_KEY[key].branch.leads_to for key in met}
        is_met = self.category == NEITHER or (self.aim is not None and self.aim.key in met)
        is_of_both = levels == {RED, YELLOW}
        return is_met and is_of_both == also and field_triage(findings).category == self.category


def _keys_met(findings: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(KEY_OF[each.when] for each in criteria_met(findings))


@lru_cache(maxsize=4096)
def _may_come_of(aim: Criterion, happening: Happening) -> bool:
    """Whether an aim is met by a happening, by a detail that goes with it, or by its figure."""
    is_of_age = aim.from_y <= happening.to_y and happening.from_y <= aim.to_y
    if not is_of_age and aim.edge != AGE:
        return False
    if not aim.brings:
        return is_of_kind(aim.edge, happening.kind)
    if set(aim.brings) <= set(happening.brings):
        return True
    rows = (each for each in DETAILS if set(aim.brings) <= set(each.brings))
    return any(each.fits(happening.kind) for each in rows)


def _usual(details: Sequence[Detail]) -> list[Detail]:
    """What is told as usual of the parts that nothing was told about."""
    told = {each.about for each in details}
    return [each for each in DETAILS if each.use == USUAL and each.about not in told]


def _blurs(detail: Detail, happening: Happening, age: int) -> bool:
    is_old_enough = any(low <= age <= high for low, high in _HEAD_COUNTS)
    return happening.kind == "fall" and is_old_enough and detail.about in _HEAD


def _drawn_age(low: int, high: int, random: Random) -> int | None:
    """A whole age of both bounds, by the bands that are open; None where none is."""
    open_bands = [
        ((max(low, first), min(high, last)), share)
        for (first, last), share in _BANDS
        if max(low, first) <= min(high, last)
    ]
    if not open_bands:
        return None
    first, last = drawn([each for each, _ in open_bands], [each for _, each in open_bands], random)
    return int(draw_age(AgeBand("", first, last + 1, ""), (None, None), random))
