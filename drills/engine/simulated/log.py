"""What a service would have kept of simulated drills: rows in order of time, and nothing of the
truth behind them."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from drills.engine.facts import BAG, ITEM
from drills.engine.simulated.laws import CHOICES

Array = NDArray[np.float64]
Ints = NDArray[np.int_]

WRONG, RIGHT, TIMED_OUT = 0, 1, 2
OUTCOMES = ("wrong", "right", "timed-out")
MODALITIES = ("screen", "hands-on")
PROBE, ASSIGNED, MODEL = 0, 1, 2
CHOSEN = ("probe", "assigned", "model")
COLUMNS = (
    *("time", "person", "item", "layout", "modality", "outcome", "seconds", "chosen"),
    *("place", "kind", "choices", "step", "category"),
)
LOCATE = "locate"


class Written(Protocol):
    """Whatever text can be written to."""

    def write(self, text: str, /) -> object:
        """Write some text."""


@dataclass(frozen=True, slots=True)
class Log:
    """One row for each step that was answered, as arrays of one length, in order of time.

    `time` is in days from the first; `item` numbers things, the bags after the things they may
    hold (`things` of them are no bags); `place` numbers places of all layouts: a thing that moves
    has another; `outcome`, `modality` and `chosen` are places in `OUTCOMES`, `MODALITIES` and
    `CHOSEN`. A step that is timed out has the seconds after which it was.
    """

    time: Array
    person: Ints
    item: Ints
    layout: Ints
    place: Ints
    category: Ints
    modality: Ints
    outcome: Ints
    seconds: Array
    chosen: Ints
    things: int

    def __len__(self) -> int:
        return len(self.time)

    @property
    def is_right(self) -> NDArray[np.bool_]:
        """Whether each row was right, and in time."""
        result: NDArray[np.bool_] = self.outcome == RIGHT
        return result

    def rows(self, chosen: NDArray[np.bool_] | Ints | slice) -> "Log":
        """Some of the rows, in their order."""
        columns = [each.name for each in fields(self) if each.name != "things"]
        return Log(**{each: getattr(self, each)[chosen] for each in columns}, things=self.things)


def write_csv(log: Log, file: Written, *, start: datetime) -> None:
    """Write the rows with the columns of `predict_log`, then those that tell more of the step."""
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(_rows(log, start))


def write_truth(log: Log, chance: Array, file: Written, *, start: datetime) -> None:
    """Write the true chance of each row at its moment, in the order of the rows."""
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(("time", "person", "item", "layout", "chance"))
    for row, true in zip(_rows(log, start), chance, strict=True):
        writer.writerow((*row[:4], f"{true:.6f}"))


def _rows(log: Log, start: datetime) -> Iterator[tuple[object, ...]]:
    for at, each in enumerate(log.time):
        is_bag = log.item[at] >= log.things
        yield (
            (start + timedelta(days=float(each))).isoformat(timespec="milliseconds"),
            f"person-{log.person[at] + 1:04d}",
            thing_key(int(log.item[at]), log.things),
            f"layout-{log.layout[at] + 1}",
            MODALITIES[log.modality[at]],
            OUTCOMES[log.outcome[at]],
            f"{log.seconds[at]:.2f}",
            CHOSEN[log.chosen[at]],
            f"place-{log.place[at] + 1:04d}",
            LOCATE,
            CHOICES,
            BAG if is_bag else ITEM,
            f"category-{log.category[at] + 1:02d}",
        )


def thing_key(item: int, things: int) -> str:
    """The key of a thing by its number; the bags are numbered after the things."""
    return f"item-{item + 1:04d}" if item < things else f"bag-{item - things + 1:02d}"
