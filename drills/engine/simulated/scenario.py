"""What a simulated service is like: how many people and things, under which law, with what ado.

Every figure here is ours and made up; none was measured on a person.
"""

from dataclasses import dataclass, replace
from math import inf

# The laws by which people forget: sums of decaying traces, and the published curve FSRS-6.
TRACES, CURVE = "A", "F"
LAWS = (TRACES, CURVE)
# Days after a move on which everybody is asked for what moved.
PROBED_AFTER = (1, 3, 7, 21)
# So many days before the first are lived through as well, without drills.
DAYS_BEFORE = 240
# Of these at most so many, and of people times items and people times days: memory grows with the
# first, rows with the second, to no more than `predict_log` reads.
MOST = {"people": 10_000, "items": 10_000, "days": 3_660}
MOST_TOGETHER = 1_000_000
# The share of the days that a model may learn from before it is measured.
TRAIN_SHARE = 2 / 3


class ScenarioError(ValueError):
    """A scenario that cannot be lived through; the words say which setting and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A revision of the layout: from `day` on so many bags and loose things lie elsewhere.

    `told` is the share of people who are shown the new places that day. With `is_probed`
    everybody is asked for what moved 1, 3, 7 and 21 days later.
    """

    day: int
    bags: int = 0
    loose: int = 0
    told: float = 0.5
    is_probed: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """A service and its drills.

    People drill `asked` things every `days_between` days on average. Of the things a share of
    `in_bags` lies in bags of `bag_holds` things each, so that finding one takes two steps. A share
    `hired` of the people begins in the last third of the days. `uses` is how often a person
    comes across a thing on shift in a year, which nobody observes. Of the drills a share
    `hands_on` is at the rig. `lazy` is the share of people who tap at random, `shared` of those who
    sign in as somebody else; an answer later than `cut_off` seconds is timed out; between the days
    `quiet` people drill a third as often.
    """

    law: str = TRACES
    people: int = 300
    items: int = 150
    days: int = 360
    days_between: float = 9.0
    asked: int = 12
    in_bags: float = 0.4
    bag_holds: int = 8
    hired: float = 0.15
    uses: float = 2.0
    hands_on: float = 0.1
    moves: tuple[Move, ...] = ()
    layouts: int = 1
    lazy: float = 0.0
    shared: float = 0.0
    cut_off: float | None = None
    quiet: tuple[int, int] | None = None

    def __post_init__(self) -> None:
        if self.law not in LAWS:
            raise ScenarioError(f"law: {self.law!r} came in; A or F would be accepted.")
        least = dict.fromkeys(("people", "days", "asked", "bag_holds", "layouts"), 1)
        # As many as a drill asks for.
        least["items"] = max(self.asked, 1)
        for name, fewest in least.items():
            self._refuse_beyond(name, getattr(self, name), fewest, MOST.get(name, inf))
        for name in ("items", "days"):
            together = self.people * getattr(self, name)
            self._refuse_beyond(f"people times {name}", together, 1, MOST_TOGETHER)

    @staticmethod
    def _refuse_beyond(name: str, came: int, least: int, most: float) -> None:
        if not least <= came <= most:
            upto = f"at least {least}" if most == inf else f"{least} to {most}"
            raise ScenarioError(f"{name}: {came} came in; {upto} would be accepted.")

    @property
    def bags(self) -> int:
        """How many bags there are."""
        return round(self.items * self.in_bags / self.bag_holds)

    @property
    def train_days(self) -> int:
        """The days before the period in which a model is measured."""
        return round(self.days * TRAIN_SHARE)


# Scenarios by name, to be asked for with another law, size or seed.
SCENARIOS = {
    "steady": Scenario(),
    "unobserved-none": Scenario(uses=0.0),
    "dense": Scenario(items=40),
    "moved": Scenario(
        moves=(Move(day=120, bags=2, loose=4), Move(day=250, bags=3, loose=6)),
    ),
    "two-layouts": Scenario(layouts=2),
    "lazy": Scenario(lazy=0.1),
    "shared": Scenario(shared=0.1),
    "time-outs": Scenario(cut_off=15.0),
    "quiet": Scenario(quiet=(150, 210)),
    "small": Scenario(people=10),
}


def scenario_of(
    name: str,
    *,
    law: str | None = None,
    people: int | None = None,
    items: int | None = None,
    days: int | None = None,
) -> Scenario:
    """A scenario by its name, with some of its settings changed.

    `ScenarioError` for a name that is unknown or a setting that cannot be.
    """
    if name not in SCENARIOS:
        raise ScenarioError(f"scenario: {name!r} came in; one of {', '.join(SCENARIOS)}.")
    usual = SCENARIOS[name]
    return replace(
        usual,
        law=usual.law if law is None else law,
        people=usual.people if people is None else people,
        items=usual.items if items is None else items,
        days=usual.days if days is None else days,
    )
