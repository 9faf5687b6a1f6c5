"""Things a cohort misses more than the fit expects, and what could have been seen by now."""

from dataclasses import dataclass
from statistics import median

from drills.boards.choosing import Choice
from drills.boards.educator import Board
from drills.competency.expecting import asked_of
from drills.engine.cohort import as_asked
from drills.engine.facts import Fact, fact_parts, facts_of
from drills.engine.flagging import Flag, flagged
from drills.engine.flagging.seen import IS_EARLIER, SEEN, could_be_seen


@dataclass(frozen=True, slots=True)
class Flagged:
    """One thing that is told, in words."""

    thing: str
    place: str
    flag: Flag

    @property
    def expected(self) -> int:
        return round(self.flag.expected)


@dataclass(frozen=True, slots=True)
class Flags:
    """What is told, of how many things with how many people's answers at the median; and of 100
    things found 15 in 100 less often how many would have been told by now."""

    told: tuple[Flagged, ...]
    things: int
    answers: int
    seen_in_100: int

    @property
    def facts(self) -> list[Fact]:
        """What each thing that is told is counted under."""
        return [each.flag.thing for each in self.told if isinstance(each.flag.thing, Fact)]

    @property
    def curve(self) -> list[tuple[int, int]]:
        """Of 100 such things how many are told with so many answers on each, as measured."""
        return [(each.answers, round(100 * each.found)) for each in SEEN]

    @property
    def cohorts(self) -> str:
        """How many drawn cohorts each of those figures rests on."""
        counts = [each.cohorts for each in SEEN]
        least, most = min(counts), max(counts)
        return str(least) if least == most else f"{least} to {most}"

    @property
    def is_earlier(self) -> bool:
        """Whether they were measured of the model before this one."""
        return IS_EARLIER


def flags_of(board: Board, choice: Choice) -> Flags | None:
    """For one choice; None before the first fit, and where nothing was asked."""
    layout = board.layout
    under = {fact: together[0] for fact, together in as_asked(facts_of(layout)).items()}
    asked = asked_of(choice.revision.layout, under, **choice.span)
    if not asked:
        return None
    people = median(len(each.expected) for each in asked)
    return Flags(
        told=tuple(
            Flagged(*fact_parts(layout, flag.thing), flag)
            for flag in flagged(asked)
            if isinstance(flag.thing, Fact)
        ),
        things=len(asked),
        answers=round(people),
        seen_in_100=round(100 * could_be_seen(people)),
    )
