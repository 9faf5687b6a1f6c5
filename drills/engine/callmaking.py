"""What drills of calls are made from, and what one drill asks of a call on its layout."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from random import Random

from drills.engine.arriveplan import Arrival
from drills.engine.arriving.crews import ONLY, SECOND, Crew, crew_of
from drills.engine.calls import Asked, Call, CallType, CallWorld
from drills.engine.callsource import lures_in
from drills.engine.carried import Aboard
from drills.engine.chance import seeded
from drills.engine.dosing.treatment import USUAL, Settings
from drills.engine.exercises.stores import NOTHING_ABOARD
from drills.engine.generation import Wish
from drills.engine.incidents import Sorting
from drills.engine.incidents.asking import turns_of
from drills.engine.lately import call_mark
from drills.engine.layout import Layout
from drills.engine.medicines import MedicineRule
from drills.engine.prompts import Prompt
from drills.engine.recipes import ARRIVE, AS_A_CALL_RUNS, RecipeSpec
from drills.engine.stageplan import Area, Kits, is_staged_by_area, treatment_areas
from drills.engine.wanted import Wanted, want
from drills.engine.workplan import Works


@dataclass(frozen=True, slots=True)
class Material:
    """What calls are made from, and how the things of the layout are tied: need by thing key.

    `unconfirmed` are things whose tie is a mere suggestion. `holds` is how many of its need one of
    a thing is, where that is not one. `refusal` says why no dose may be drilled; then there are no
    rules. `aboard` is what the layout carries of medicines and of what they are given with; what
    is tied to a need of another strength serves kits there and never a dose. `settings` are how the
    service works doses out, `sorting` is the scheme that it sorts patients by.
    """

    call_types: tuple[CallType, ...]
    world: CallWorld
    ties: Mapping[str, str]
    unconfirmed: frozenset[str] = frozenset()
    rules: tuple[MedicineRule, ...] = ()
    refusal: str = ""
    holds: Mapping[str, int] = field(default_factory=dict)
    aboard: Aboard = NOTHING_ABOARD
    settings: Settings = USUAL
    sorting: Sorting = field(default_factory=Sorting)

    def arrival(
        self, layout: Layout, held: Collection[tuple[str, str]], difficulty: int
    ) -> Arrival:
        """What arriving at calls is asked from on a layout."""
        return Arrival(
            layout,
            self.ties,
            held,
            self.call_types,
            self.world,
            self.sorting.threshold,
            difficulty,
        )


@dataclass(frozen=True, slots=True)
class Making:
    """All that one drill is made from; `random` is the one thing that changes what comes out.

    A drill `is_second` that meets a call of many as the second crew there.
    """

    asked: Wish
    seed: int
    material: Material
    random: Random
    works: Works
    arrival: Arrival
    is_second: bool = False
    # Needs as things of the layout: one drill asks for the same ones again and again.
    kept: dict[tuple[Asked, ...], tuple[Wanted, ...]] = field(default_factory=dict)

    @property
    def layout(self) -> Layout:
        return self.asked.layout

    @property
    def spec(self) -> RecipeSpec:
        return self.asked.spec

    @property
    def counts(self) -> dict[str, int]:
        return dict(self.spec.kinds)

    def wanted(self, asked: Iterable[Asked]) -> tuple[Wanted, ...]:
        """Needs as things of the layout."""
        material, needs = self.material, tuple(asked)
        if needs not in self.kept:
            self.kept[needs] = want(
                self.layout, material.ties, needs, self.asked.held, material.holds
            )
        return self.kept[needs]

    def lures(self, call: Call) -> int:
        """How many things aboard are brought to a call by mistake."""
        return lures_in(self.wanted(call.needs))

    def crew(self, call: Call) -> Crew:
        """Which crew one is: where a drill is no call as it runs, the only one."""
        if self.spec.order != AS_A_CALL_RUNS:
            return Crew(ONLY, tuple(each.number for each in call.patients))
        return crew_of(
            call,
            self.material.sorting.threshold,
            is_second=self.is_second,
            is_told=ARRIVE in self.counts,
            turns=turns_of(call),
        )

    def kits(self, call: Call, *, is_spare: bool = False) -> Iterator[Prompt]:
        """The kits of a call, of a second crew those of its own patients; a spare tells nobody's
        category, as that may be asked of it later."""
        material, crew = self.material, self.crew(call)
        kits = Kits(self.wanted, material.ties, material.unconfirmed)
        if crew.role == SECOND and crew.is_told:
            return kits.of_patients(call, crew.own)
        areas: tuple[Area, ...] = ()
        if is_staged_by_area(self.spec) and not is_spare:
            kind = next(each for each in material.call_types if each.slug == call.call_type)
            areas = treatment_areas(call, kind)
        return kits.of_call(call, areas)

    def arrivals(self, call: Call) -> Iterator[Prompt]:
        """What is asked of arriving at a call, up to as many as are wanted."""
        most, spec = self.counts.get(ARRIVE), self.spec
        if most is None:
            return iter(())
        random = seeded(f"arrives/1:{spec.slug}:{self.seed}:{call_mark(call)}")
        return islice(self.arrival.asked(call, self.crew(call), self.wanted, random), most or None)
