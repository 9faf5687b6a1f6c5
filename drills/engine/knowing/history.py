"""What came before each answer, as numbers: all that the model knows of one person's past.

No row is told anything of itself or of a later one.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from drills.engine.knowing.columns import HANDS_ON, SCAN, Answers, Bools, Floats, Ints
from drills.engine.knowing.times import PSEUDO, Times

# Success and try windows in days; the last is for ever. Given by the design, not fitted.
WINDOWS = (30.0, 120.0, np.inf)
SIBLING_DAYS = 120.0
# The old place is thought to fade so fast after a move: ours, no source.
OLD_PLACE_DAYS = 30.0
# Traces of earlier tries fade with the root of their age, the usual figure of the published
# activation equation (from memory); so many of the latest are summed.
DECAY, TRACES = 0.5, 12
# An age of less than this, an hour, counts as this.
YOUNGEST = 1 / 24
DAY = 86_400
# Rows of up to 34,000 years in one order: so many bits hold their seconds.
SECONDS_BITS, EXACT = 40, 2.0**20

PLAIN = (
    "always",
    "right in 30 days",
    "right in 120 days",
    "right ever",
    "tries in 30 days",
    "tries in 120 days",
    "tries ever",
    "share right in 120 days",
    "share right ever",
    "never asked",
    "days since it was asked",
    "last one right",
    "days since, where the last was right",
    "wrong ones since the last right",
    "longest gap bridged",
    "strength of all tries",
    "strength of those right",
    "last time taken, beside the usual",
    "right elsewhere, in the same place",
    "right elsewhere, in another place",
    "right among what lies beside it",
    "share right among what lies beside it",
    "moved",
    "days since it moved",
    "known at the old place",
    "known at the old place, fading",
    "new here",
    "days since they came",
    "by scan",
    "hands-on",
)
# A rule is not learnt as a place is: what came before an answer on a skill has columns of its own,
# each as the one of places, which are none there.
SKILLED = {
    "a skill, never asked": "never asked",
    "a skill, days since it was asked": "days since it was asked",
    "a skill, last one right": "last one right",
    "a skill, share right ever": "share right ever",
    "a skill, strength of those right": "strength of those right",
    "a skill, wrong ones since the last right": "wrong ones since the last right",
    "a skill, share right of others": "share right among what lies beside it",
}
NAMES = (*PLAIN, *SKILLED)
_NOT_OF_SKILLS = np.flatnonzero(~np.isin(PLAIN, ("always", "by scan", "hands-on")))


@dataclass(frozen=True, slots=True)
class Past:
    """For each row, the earlier rows that share its key."""

    order: Ints
    time: Floats
    start: Ints
    combined: Ints

    @classmethod
    def of(cls, key: Ints, time: Floats) -> "Past":
        """`time` must not fall; rows of one key keep their order."""
        order = np.argsort(key, kind="stable")
        sorted_key = key[order]
        first = np.r_[True, sorted_key[1:] != sorted_key[:-1]] if len(key) else np.zeros(0, bool)
        start = np.maximum.accumulate(np.where(first, np.arange(len(key)), 0))
        combined = (np.cumsum(first) << SECONDS_BITS) + _seconds(time[order])
        return cls(order, time[order], start, combined)

    def summed(self, values: Floats, days: float = np.inf) -> Floats:
        """The sum of earlier rows' values, of the last so many days.

        Values are taken to a millionth, so that sums are exact and rows of others, which stand
        between, change nothing.
        """
        values = np.round(values * EXACT) / EXACT
        running = np.r_[0.0, np.cumsum(values[self.order])]
        since = self.start
        if np.isfinite(days):
            reached = np.searchsorted(self.combined, self.combined - int(days * DAY))
            since = np.maximum(reached, self.start)
        return self._back(running[np.arange(len(self.order))] - running[since])

    def latest(self, values: Floats, among: Bools) -> Floats:
        """The value of the newest earlier row that is among some; not a number where none is."""
        place = np.arange(len(self.order))
        marked = np.where(among[self.order], place, -1)
        before = np.r_[-1, np.maximum.accumulate(marked)[:-1]] if len(place) else marked
        found = before >= self.start
        seen = values[self.order][np.where(found, before, 0)]
        return self._back(np.where(found, seen, np.nan))

    def greatest(self, values: Floats) -> Floats:
        """The greatest of the latest earlier rows' values, 0 where none is above it."""
        sorted_values = values[self.order]
        best = np.zeros(len(sorted_values))
        for rows, earlier in self._latest_rows():
            best[rows] = np.maximum(best[rows], sorted_values[earlier])
        return self._back(best)

    def traces(self, values: Floats) -> Floats:
        """The sum of the latest earlier values, each divided by the root of its age in days."""
        sorted_values = values[self.order]
        total = np.zeros(len(sorted_values))
        for rows, earlier in self._latest_rows():
            age = np.maximum(self.time[rows] - self.time[earlier], YOUNGEST)
            total[rows] += sorted_values[earlier] * age**-DECAY
        return self._back(total)

    def _latest_rows(self) -> Iterator[tuple[Ints, Ints]]:
        """Rows that have an earlier one of their key so many rows back, with that one."""
        place = np.arange(len(self.order))
        for back in range(1, TRACES + 1):
            rows = np.flatnonzero(place - back >= self.start)
            if not len(rows):
                return
            yield rows, rows - back

    def _back(self, values: Floats) -> Floats:
        found = np.empty_like(values)
        found[self.order] = values
        return found


def _seconds(days: Floats) -> Ints:
    """Times as whole seconds from the first, so that windows are exact."""
    seconds: Ints = np.round((days - days.min(initial=np.inf)) * DAY).astype(np.int64)
    return seconds


def pair_of(person: Ints, other: Ints) -> Ints:
    """One number for each person with each of something."""
    return person * (int(other.max(initial=0)) + 1) + other


def history(answers: Answers, times: Times | None = None) -> Floats:
    """What came before each row: a column for each of `NAMES`. Times must not fall.

    `times` say what is usual where the rows are not those of everybody.
    """
    own = Past.of(pair_of(answers.person, answers.fact), answers.time)
    # To be wrong when asked again, the place just shown, is no practice.
    tried = (answers.counts & (answers.scored | (answers.right > 0.0))).astype(float)
    right = np.where(answers.counts, answers.right, 0.0)
    since = answers.time - own.latest(answers.time, answers.counts)
    never = np.isnan(since)
    days = np.log1p(np.where(never, 0.0, since))
    last_right = np.nan_to_num(own.latest(right, answers.counts))
    bridged = np.where(never, 0.0, since) * right
    windows = [own.summed(what, span) for what in (right, tried) for span in WINDOWS]
    columns = [
        np.ones(len(answers)),
        *(np.log1p(each) for each in windows),
        _share(windows[1], windows[4]),
        _share(windows[2], windows[5]),
        never.astype(float),
        days,
        last_right,
        days * last_right,
        np.log1p(_wrong_since(answers, own)),
        np.log1p(own.greatest(bridged)),
        np.log1p(own.traces(tried)),
        np.log1p(own.traces(right)),
        np.nan_to_num(own.latest(unusual_time(answers, times), answers.counts)),
        *_elsewhere(answers, right, own),
        *_beside(answers, right, tried, own),
        *_moved(answers, right, own),
        *_since(answers.time, answers.came),
        (answers.modality == SCAN).astype(float),
        (answers.modality == HANDS_ON).astype(float),
    ]
    return _with_skills(np.column_stack(columns), answers.skill)


def _with_skills(columns: Floats, skill: Bools) -> Floats:
    """The columns of `NAMES`, from those of `PLAIN`."""
    skilled = columns[:, [PLAIN.index(name) for name in SKILLED.values()]] * skill[:, None]
    columns[np.flatnonzero(skill)[:, None], _NOT_OF_SKILLS] = 0.0
    return np.hstack([columns, skilled])


def _wrong_since(answers: Answers, own: Past) -> Floats:
    """How many were wrong since the last that was right in part at least."""
    given = own.summed(answers.counts.astype(float))
    return given - np.nan_to_num(own.latest(given + 1.0, answers.counts & (answers.right > 0.0)))


def unusual_time(answers: Answers, times: Times | None = None) -> Floats:
    """How much longer a right answer took than this person and this thing usually take, as a
    logarithm; 0 where it was not right or no time is known. Told by earlier answers alone."""
    timed = answers.counts & (answers.right >= 1.0) & (answers.seconds > 0)
    took = np.log(np.where(timed, answers.seconds, 1.0))
    if times is not None:
        left = took - times.log_seconds(answers.person, answers.fact, answers.modality)
    else:
        left = took - _usual(answers, took, timed)
    return np.where(timed, np.clip(left, -2.0, 2.0), 0.0)


def _usual(answers: Answers, took: Floats, timed: Bools) -> Floats:
    """What the earlier answers of everybody, of the person and on the thing lead one to expect."""
    person = Past.of(pair_of(answers.person, answers.modality), answers.time)
    thing = Past.of(pair_of(answers.fact, answers.modality), answers.time)
    expected = _shrunk(Past.of(answers.modality, answers.time), took, timed)
    for past in (person, thing):
        expected = expected + _shrunk(past, took - expected, timed)
    return expected


def _shrunk(past: Past, values: Floats, among: Bools) -> Floats:
    total = past.summed(np.where(among, values, 0.0))
    return total / (past.summed(among.astype(float)) + PSEUDO)


def _elsewhere(answers: Answers, right: Floats, own: Past) -> tuple[Floats, Floats]:
    """The same need on another layout, where it lies in the same place and where it does not."""
    need = Past.of(pair_of(answers.person, answers.need), answers.time)
    person_need = pair_of(answers.person, answers.need)
    spot = Past.of(pair_of(person_need, answers.spot), answers.time)
    slot = Past.of(pair_of(answers.person, answers.slot), answers.time)
    here = own.summed(right)
    same = np.maximum(spot.summed(right) - here, 0.0)
    other = np.maximum(need.summed(right) - slot.summed(right) - same, 0.0)
    return np.log1p(same), np.log1p(other)


def _beside(answers: Answers, right: Floats, tried: Floats, own: Past) -> tuple[Floats, Floats]:
    """What lies in the same place, without the thing itself."""
    place = Past.of(pair_of(answers.person, answers.place), answers.time)
    got = place.summed(right, SIBLING_DAYS) - own.summed(right, SIBLING_DAYS)
    of = place.summed(tried, SIBLING_DAYS) - own.summed(tried, SIBLING_DAYS)
    return np.log1p(np.maximum(got, 0.0)), _share(got, of)


def _share(got: Floats, of: Floats) -> Floats:
    """How far the share right is from even, drawn to it as by two more."""
    return np.asarray((got - of / 2) / (of + 2.0))


def _moved(answers: Answers, right: Floats, own: Past) -> tuple[Floats, Floats, Floats, Floats]:
    """Where the thing lay elsewhere on this layout before, and how well it was known there."""
    moved, since = _since(answers.time, answers.moved)
    has = moved > 0
    slot = Past.of(pair_of(answers.person, answers.slot), answers.time)
    old = np.where(has, np.log1p(np.maximum(slot.summed(right) - own.summed(right), 0.0)), 0.0)
    fading = old * np.exp(-np.expm1(since) / OLD_PLACE_DAYS)
    return moved, since, old, fading


def _since(time: Floats, day: Floats) -> tuple[Floats, Floats]:
    """Whether there is such a day, and how long ago, as a logarithm."""
    has = ~np.isnan(day)
    days = np.maximum(np.where(has, time - np.where(has, day, 0.0), 0.0), 0.0)
    return has.astype(float), np.log1p(days)
