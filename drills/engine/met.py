"""Which stock lines a person meets who drills now and then: simulated, and nothing of it measured.

The person answers right by chance, and each drill is made as one of theirs would be: by what they
know, and apart from what they had in the week before.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from drills.engine.chance import seeded
from drills.engine.facts import Fact
from drills.engine.generation import plan_drill
from drills.engine.lately import Lately, mark_of
from drills.engine.layout import Layout
from drills.engine.memory import Observation, asking_weights
from drills.engine.pools import NONE_TOLD, LookedTo
from drills.engine.prompts import Prompt, ways
from drills.engine.recipes import CONTENTS, RecipeSpec
from drills.engine.scoring import RIGHT, WRONG

DAYS, A_WEEK, KNOWS = 90, 2, 0.8
_WEEK = timedelta(days=7)
# The day that a simulated person begins: any does.
_BEGINS = datetime(2026, 1, 5, 6, tzinfo=UTC)
Line = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Met:
    """What one simulated person met: lines by (place, thing) with the day, from 0, of the first.

    `repeats` counts prompts that came again within a week of being right, `probes` those of them
    that were drawn from everything.
    """

    lines: tuple[Line, ...]
    met: dict[Line, int]
    drills: int
    prompts: int
    repeats: int
    probes: int

    @property
    def unmet(self) -> tuple[Line, ...]:
        """The lines that were never part of a right answer, in the order of the layout."""
        return tuple(line for line in self.lines if line not in self.met)

    def share_by(self, day: int) -> float:
        """The share of lines that were met by the end of a day."""
        return sum(at <= day for at in self.met.values()) / max(len(self.lines), 1)


class _Person:
    """Somebody simulated: what they answered, and what they had lately."""

    def __init__(self, layout: Layout, knows: float, seed: int) -> None:
        self.layout, self.knows = layout, knows
        self.random = seeded(f"met/1:{seed}")
        self.seen: dict[Fact, list[Observation]] = defaultdict(list)
        self.right_at: dict[str, datetime] = {}
        self.had: set[str] = set()

    def lately(self, now: datetime) -> Lately:
        since = now - _WEEK
        known = (mark for mark, at in self.right_at.items() if at >= since)
        return Lately(known=frozenset(known), had=frozenset(self.had))

    def answer(self, prompt: Prompt, now: datetime) -> None:
        self.had.add(mark_of(prompt))
        outcome = RIGHT if self.random.random() < self.knows else WRONG
        for fact in ways(self.layout, prompt.kind, prompt.subject, prompt.answer)[0]:
            self.seen[fact].append(Observation(outcome, now, first=True))
        if outcome == RIGHT:
            self.right_at[mark_of(prompt)] = now
        else:
            self.right_at.pop(mark_of(prompt), None)


def simulate(
    layout: Layout,
    spec: RecipeSpec,
    *,
    seed: int,
    days: int = DAYS,
    a_week: int = A_WEEK,
    knows: float = KNOWS,
    looked_to: LookedTo = NONE_TOLD,
    told: Callable[[int], None] = lambda _: None,
) -> Met:
    """Let one person take a recipe of the rig so often a week for so many days.

    `knows` is the chance of a right answer, `told` is called with each day drilled on.
    Raises `CannotApplyError` when the recipe makes no drill here.
    """
    person = _Person(layout, knows, seed)
    met: dict[Line, int] = {}
    prompts = repeats = probes = drills = 0
    for day in _days(days, a_week):
        now = _BEGINS + timedelta(days=day)
        lately = person.lately(now)
        made = plan_drill(
            layout,
            spec,
            seed=seed * 1_000_003 + day,
            weights=asking_weights(person.seen, now=now),
            lately=lately,
            looked_to=looked_to,
        )
        for prompt in made.prompts:
            again = mark_of(prompt) in lately.known
            repeats, probes = repeats + again, probes + (again and prompt.chosen == "probe")
            for line in lines_of(layout, prompt):
                met.setdefault(line, day)
            person.answer(prompt, now)
        prompts, drills = prompts + len(made.prompts), drills + 1
        told(day)
    lines = tuple(dict.fromkeys((line.compartment, line.key) for line in layout.stock))
    return Met(lines, met, drills, prompts, repeats, probes)


def lines_of(layout: Layout, prompt: Prompt) -> Iterator[Line]:
    """The stock lines that a prompt is about: every place of a thing, or what is asked of one."""
    if prompt.kind == CONTENTS:
        yield from ((prompt.subject, key) for key in prompt.answer)
        return
    for code in prompt.answer:
        if any(line.key == prompt.subject for line in layout.lines_in.get(code, ())):
            yield code, prompt.subject


def _days(days: int, a_week: int) -> Iterator[int]:
    """The days that are drilled on: spread over each week alike, from the first day on."""
    count = 0
    while (day := count * 7 // a_week) < days:
        yield day
        count += 1
