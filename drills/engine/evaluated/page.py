"""The evaluation of the model as the manual prints it: from the figures as they were measured."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from drills.engine.knowing import CHANCES, DOUBT
from drills.engine.tables.page import as_markdown

FILE = Path(__file__).with_name("figures.json")
MODEL, TRUTH = "readiness", "oracle"
BESIDE = ("item mean", "FSRS default", "FSRS fitted", "windows only")
NONE, EARLIER = "–", "an earlier model"
# Of figures that were written before the model had numbers.
UNNUMBERED = (1, 1)

Told = Mapping[str, Any]


@cache
def figures() -> Told:
    """The figures of the last evaluation."""
    told: Told = json.loads(FILE.read_text(encoding="utf-8"))
    return told


def shares(told: Told) -> str:
    """Of each service how much of the gain each way of saying has, the model with its spread."""
    heads = ("simulated service", "seeds", "answers", *BESIDE, "the model", "held to at least")
    return as_markdown(heads, [_share_row(case) for case in told["cases"].values()])


def calibration(told: Told) -> str:
    """Of each service how far apart what was thought and what came are."""
    heads = ("simulated service", "answers", "gap", "gap of the truth", "slope", "area")
    return as_markdown(heads, [_calibration_row(case) for case in told["cases"].values()])


def reliability(told: Told) -> str:
    """What was thought and what came, in tenths of the answers, of services with a bound."""
    heads = ("simulated service", "answers", "thought", "right", "80 % interval")
    return as_markdown(heads, list(_reliability_rows(told["cases"].values())))


def moves(told: Told) -> str:
    """What was thought of what moved in the three weeks after, and of all else."""
    heads = (
        *("simulated service", "of what", "answers", "right", "thought", "gap, seeds together"),
        *("of the truth", "each by itself", "of the truth"),
    )
    return as_markdown(heads, list(_part_rows(told["cases"].values(), "move", "not moved")))


def new_people(told: Told) -> str:
    """Of people who came late, from their 13th to their 48th answer."""
    rows = [
        (
            _named(case["name"], case),
            _whole(part[MODEL]["answers"]),
            _two(part[MODEL]["beside_item_mean"]),
            _three(part[MODEL]["gap"]),
            _three(part[TRUTH]["gap"]),
        )
        for case in told["cases"].values()
        if (part := case["parts"].get("new hires"))
    ]
    beside = "log loss, as a part of the item mean's"
    heads = ("simulated service", "answers", beside, "gap", "of the truth")
    return as_markdown(heads, rows)


def changes(told: Told) -> str:
    """How much a move changes of what is thought on its day, with nothing answered since."""
    rows = [
        (_named(law, each), _two(each["moved"]), f"{each['elsewhere']:.0e}")
        for law, each in told["changes"].items()
    ]
    return as_markdown(("law", "of what moved, on average", "of all else, at most"), rows)


def calls(told: Told) -> str:
    """Of call types what was said, as it is and set right by past calls, and the truth."""
    heads = (
        *("law", "what is said", "seeds", "calls a seed", "all found", "thought"),
        *("gap, mean of the seeds", "slope"),
    )
    return as_markdown(heads, list(_call_rows(told["days"])))


def intervals(told: Told) -> str:
    """Of how many things the 80 % interval holds the truth, by first answers."""
    heads = (
        *("law", "first answers", "things", "held", "truth beneath", "truth above", "width"),
        *("shown at all", "of those held"),
    )
    return as_markdown(heads, list(_interval_rows(told["days"])))


def choosing(told: Told) -> str:
    """What was missed of the must-haves after eight weeks, by how it was chosen what is asked."""
    heads = (
        *("law", "what is asked", "seeds", "must-haves missed", "in truth"),
        *("fewer than at random", "all else missed, in truth"),
    )
    return as_markdown(heads, list(_choosing_rows(told["choosing"])))


def guard(told: Told) -> str:
    """How often a drill was kept from being too hard or too easy."""
    heads = ("law", "seeds", "drills", "kept from being too hard", "from being too easy")
    rows = [
        (
            _named(law, part),
            *(_whole(each) for each in (part["seeds"], part["bound"]["drills"])),
            *(_whole(part["bound"][each]) for each in ("too hard", "too easy")),
        )
        for law, part in told["choosing"].items()
    ]
    return as_markdown(heads, rows)


def _call_rows(days: Told) -> Iterator[Sequence[str]]:
    for law, day in days.items():
        for name, said in day["calls"]["said"].items():
            yield (
                _named(law, day, by_doubt=True),
                name,
                _whole(day["calls"]["seeds"]),
                _whole(day["calls"]["calls"]),
                _three(said["right"]["mean"]),
                _three(said["thought"]["mean"]),
                f"{_three(said['gap']['mean'])} {_between(said['gap'], 1, 3)}",
                _two(said["slope"]["mean"]),
            )


def _interval_rows(days: Told) -> Iterator[Sequence[str]]:
    for law, day in days.items():
        for name, each in day["intervals"]["groups"].items():
            shares = (each[key]["mean"] for key in ("below", "above", "wide", "shown"))
            below, above, wide, shown = (_in_100(share) for share in shares)
            yield (
                _named(law, day, by_doubt=True),
                name,
                _whole(each["things"]),
                f"{_in_100(each['held']['mean'])} {_between(each['held'], 100, 0)}",
                below,
                above,
                wide,
                shown,
                _in_100(each["held_shown"]["mean"]) if each["shown"]["mean"] else NONE,
            )


def _choosing_rows(laws: Told) -> Iterator[Sequence[str]]:
    for law, told in laws.items():
        for way, each in told["ways"].items():
            yield (
                _named(law, told, by_doubt=True),
                way,
                _whole(told["seeds"]),
                f"{_in_100(each['missed']['mean'])} {_between(each['missed'], 100, 0)}",
                _in_100(each["truth"]["mean"]),
                f"{_in_100(each['fewer']['mean'])} {_between(each['fewer'], 100, 0)}",
                _in_100(each["rest"]["mean"]) if "rest" in each else NONE,
            )


def is_earlier(part: Told, *, by_doubt: bool = False) -> bool:
    """Whether a part was last measured of a model that said other chances; and where it goes by
    how sure those are, of one that said another doubt."""
    chances, doubt = part.get("model", UNNUMBERED)
    is_other = chances != CHANCES or (by_doubt and doubt != DOUBT)
    return is_other or bool(part.get("is_earlier"))


def _named(name: str, part: Told, *, by_doubt: bool = False) -> str:
    return f"{name} ({EARLIER})" if is_earlier(part, by_doubt=by_doubt) else name


def _in_100(share: float) -> str:
    return f"{100 * share:.0f} in 100"


def _between(spread: Told, times: float, places: int) -> str:
    """The least and the most of the seeds."""
    least, most = (f"{times * spread[end]:.{places}f}" for end in ("least", "most"))
    return f"({least} to {most})"


def _share_row(case: Told) -> Sequence[str]:
    ours = case["forecasts"][MODEL]["share"]
    return (
        _named(case["name"], case),
        _whole(case["seeds"]),
        _whole(case["answers"]),
        *(_two(case["forecasts"][name]["share"]["mean"]) for name in BESIDE),
        f"{_two(ours['mean'])} ({_two(ours['least'])} to {_two(ours['most'])})",
        _two(case["least_share"]),
    )


def _calibration_row(case: Told) -> Sequence[str]:
    ours, truth = (case["forecasts"][name] for name in (MODEL, TRUTH))
    return (
        _named(case["name"], case),
        _whole(case["answers"]),
        _three(ours["gap"]["mean"]),
        _three(truth["gap"]["mean"]),
        _two(ours["slope"]["mean"]),
        _three(ours["auc"]["mean"]),
    )


def _reliability_rows(cases: Iterable[Told]) -> Iterator[Sequence[str]]:
    for case in cases:
        if case["least_share"] is None:
            continue
        for each in case["reliability"][MODEL]:
            yield (
                _named(case["name"], case),
                _whole(each["count"]),
                _three(each["chance"]),
                _three(each["share"]),
                f"{_three(each['low'])} to {_three(each['high'])}",
            )


def _part_rows(cases: Iterable[Told], *parts: str) -> Iterator[Sequence[str]]:
    for case in cases:
        for name, part in case["parts"].items():
            if not name.startswith(parts):
                continue
            ours = part[MODEL]
            yield (
                _named(case["name"], case),
                name,
                _whole(ours["answers"]),
                _three(ours["right"]),
                _three(ours["thought"]),
                _three(ours["gap"]),
                _three(part[TRUTH]["gap"]),
                _spread_of(ours["gaps"]),
                _spread_of(part[TRUTH]["gaps"]),
            )


def _whole(number: float) -> str:
    return f"{number:,}"


def _two(number: float | None) -> str:
    return NONE if number is None else f"{number:.2f}"


def _three(number: float | None) -> str:
    return NONE if number is None else f"{number:.3f}"


def _spread_of(told: Told) -> str:
    return f"{_three(told['mean'])} ({_three(told['least'])} to {_three(told['most'])})"


# What stands in double brackets in a chapter, and what is put there.
PRINTED: Mapping[str, Callable[[], str]] = {
    "competency: share of the gain": lambda: shares(figures()),
    "competency: calibration": lambda: calibration(figures()),
    "competency: reliability": lambda: reliability(figures()),
    "competency: what moved": lambda: moves(figures()),
    "competency: new people": lambda: new_people(figures()),
    "competency: what a move changes": lambda: changes(figures()),
    "competency: calls": lambda: calls(figures()),
    "competency: intervals": lambda: intervals(figures()),
    "competency: choosing": lambda: choosing(figures()),
    "competency: the guard": lambda: guard(figures()),
}
