"""What is aboard of a medicine, and how many containers a volume or an amount is taken from."""

from dataclasses import dataclass

from drills.engine.dosing.results import Result
from drills.engine.dosing.rounded import is_lifted
from drills.engine.mixtures import Container
from drills.engine.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Stocked:
    """A container aboard, by the name it has there, with its par."""

    name: str
    container: Container
    par: int
    is_confirmed: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplies:
    """What a rig carries for a rule: what the rule names, `others` of the same medicine, syringes
    by their size in mL, drip sets in drops of a mL. `left_out` are syringes that nothing is
    measured with, since nobody knows their marks, by their names."""

    containers: tuple[Stocked, ...] = ()
    others: tuple[Stocked, ...] = ()
    syringes: tuple[int, ...] = ()
    drip_sets: tuple[Quantity, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def all(self) -> tuple[Stocked, ...]:
        """All that is aboard of the medicine."""
        return (*self.containers, *self.others)


@dataclass(frozen=True, slots=True)
class Opened:
    """How many containers are opened, of how many aboard; None where nobody knows."""

    needed: int
    par: int | None
    holds: Quantity

    @property
    def is_enough(self) -> bool:
        """Whether the par of what is aboard does."""
        return self.par is not None and self.par >= self.needed

    @property
    def short(self) -> int:
        """How many are missing."""
        return max(self.needed - (self.par or 0), 0)

    @property
    def step(self) -> str:
        """The line of the working."""
        aboard = "" if self.par is None else f" of {self.par} aboard"
        return f"One holds {self.holds}: open {self.needed}{aboard}"


def most_of(result: Result) -> Quantity:
    """The most of a figure that may be measured out: what is drawn, at the high end of a range;
    where no mark comes near, what would be."""
    return result.rounded_high or result.rounded or result.ends[-1]


def taken_of(result: Result) -> Quantity:
    """The most of a figure that is taken out of containers: a mark that lies above what is meant
    opens no further one, since what is in the first is all that is given then; one that a minimum
    asks for does."""
    drawn, meant = most_of(result), result.ends[-1]
    return meant if drawn.amount > meant.amount and not is_lifted(result) else drawn


def how_many(needed: Quantity, holds: Quantity) -> int:
    """How many containers hold what is needed, at least one."""
    return max(int(-(-needed.ratio_to(holds) // 1)), 1)


def opened_of(of: Container, needed: Quantity, par: int | None) -> Opened | None:
    """How many of a container are opened; None where its size is not said."""
    for holds in (of.volume, of.amount):
        if holds and holds.kind == needed.kind:
            return Opened(how_many(needed, holds), par, holds)
    return None
