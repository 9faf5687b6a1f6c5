"""Call types as their pages show them: the list, one of them, and a sample."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from drills.engine.arriving.tables import HAZARDS, RESOURCES, Hazard, Resource
from drills.engine.callcheck import faults_of, idle_of
from drills.engine.calls import GRADES, Asked, CallWorld
from drills.engine.chance import seeded
from drills.engine.coverage import STATES, Coverage
from drills.engine.dispatch import make_call
from drills.engine.medicines import is_any_for
from drills.engine.needcheck import unwhole_of
from drills.formulary.reports import FormularyLockedError, rules_in_force
from drills.people.models import CertificationLevel
from drills.rigs.models import Revision
from drills.scenarios.coverage import Rigged, rigged
from drills.scenarios.kept import need_names
from drills.scenarios.models import CallType, Problem
from drills.scenarios.reading import call_type_of, call_world
from drills.scenarios.tasks import call_shown

# What a crew that arrives looks for and asks for: its words, the column and the table of its keys.
_ARRIVING: tuple[tuple[str, str, Mapping[str, Hazard | Resource]], ...] = (
    ("Looked for", "hazards_here", HAZARDS),
    ("May be there too", "hazards_possible", HAZARDS),
    ("Must be asked for", "asks_for", RESOURCES),
    ("May be asked for", "may_ask_for", RESOURCES),
)


@dataclass(frozen=True, slots=True)
class OnLayout:
    """How far one layout serves a call type."""

    revision: Revision
    coverage: Coverage


@dataclass(frozen=True, slots=True)
class Listed:
    """A call type as the list shows it."""

    call: CallType
    layouts: tuple[OnLayout, ...]

    @property
    def is_short(self) -> bool:
        return any(each.coverage.musts for each in self.layouts)

    @property
    def musts(self) -> int:
        return sum(row["grade"] == GRADES[0] for row in self.call.needs)


@dataclass(frozen=True, slots=True)
class NeedRow:
    """One need of a call type in names; `at` is where it stands among the needs."""

    at: int
    row: Mapping[str, Any]
    name: str
    problem: str
    level: str
    instead: str
    wrong: str


def listed(calls: Iterable[CallType], rigs: Iterable[Rigged]) -> list[Listed]:
    """Call types with how far each layout serves them."""
    world, names, rigs = call_world(), need_names(), list(rigs)
    return [Listed(each, on_layouts(each, rigs, world, names)) for each in calls]


def on_layouts(
    call: CallType, rigs: Iterable[Rigged], world: CallWorld, names: Mapping[str, str]
) -> tuple[OnLayout, ...]:
    """How far each layout serves a call type."""
    call_type = call_type_of(call, names)
    return tuple(OnLayout(each.revision, each.coverage(call_type, world)) for each in rigs)


def served(revision: Revision) -> list[tuple[CallType, Coverage]]:
    """How far a revision serves each call type, by what it lacks: the worst first."""
    (rig,) = rigged([revision])
    world, names = call_world(), need_names()
    found = [
        (row, rig.coverage(call_type_of(row, names), world))
        for row in CallType.objects.filter(retired_on=None).order_by("name")
    ]
    order = list(STATES)
    return sorted(found, key=lambda each: order.index(each[1].state))


def shown_call(call: CallType, rigs: Iterable[Rigged]) -> dict[str, Any]:
    """What the page of one call type shows beside its sample."""
    world, names = call_world(), need_names()
    call_type = call_type_of(call, names)
    problems = dict(Problem.objects.values_list("slug", "name"))
    needs = _need_rows(call, names, problems)
    return {
        "call": call,
        "grades": [
            (grade, [each for each in needs if each.row["grade"] == grade]) for grade in GRADES
        ],
        "patients": [
            {
                "row": row,
                "name": problems.get(row["problem"], row["problem"]),
                "ages": ", ".join(f"{band} {share}" for band, share in row["age_bands"].items()),
                "women": round(row["female_share"] * 100),
            }
            for row in call.patients
        ],
        "phrases": [
            {"text": row["text"], "fits": _fits_only(row, problems)} for row in call.phrases
        ],
        "faults": faults_of(call_type, world),
        "idle": idle_of(call_type, world),
        "unwhole": unwhole_of(call_type, world),
        "is_undosed": _is_undosed(call_type.troubles),
        "layouts": on_layouts(call, rigs, world, names),
        "arriving": [
            (label, [rows[key].words for key in getattr(call, column) if key in rows])
            for label, column, rows in _ARRIVING
        ],
    }


def _is_undosed(troubles: frozenset[tuple[str, int]]) -> bool:
    """Whether no rule in force is for any of these problems, by severity; unknown without one."""
    try:
        rules = rules_in_force(timezone.now()).rules
    except FormularyLockedError:
        return False
    return not is_any_for(rules, troubles)


def _fits_only(row: Mapping[str, Any], problems: Mapping[str, str]) -> str:
    """Of whom a phrase is said, where it is not of everybody."""
    severities = ", ".join(map(str, row.get("severities", ())))
    parts = (
        " or ".join(problems.get(each, each) for each in row["problems"]),
        ", ".join(row["age_bands"]),
        f"severity {severities}" if severities else "",
    )
    return "; ".join(filter(None, parts))


def sample(call: CallType, seed: int) -> dict[str, Any]:
    """One call of a type, as its drill shows it and with what it asks for, by grade."""
    names, world = need_names(), call_world()
    call_type = call_type_of(call, names)
    if faults_of(call_type, world):
        return {"seed": seed, "fault": "None is drawn while something is wrong with it."}
    made = make_call(call_type, world, seeded(f"sample:{call.slug}:{seed}"))
    return {
        "seed": seed,
        "call": call_shown(made),
        "asked": [
            (
                grade,
                [
                    _asked(each, names, len(made.patients))
                    for each in made.needs
                    if each.grade == grade
                ],
            )
            for grade in GRADES
        ],
    }


def _asked(asked: Asked, names: Mapping[str, str], count: int) -> dict[str, Any]:
    return {
        "asked": asked,
        "patients": asked.patients if count > 1 else (),
        "instead": ", ".join(names.get(each, each) for each in asked.instead),
        "wrong": ", ".join(names.get(each, each) for each in asked.wrong_grab),
    }


def _need_rows(
    call: CallType, names: Mapping[str, str], problems: Mapping[str, str]
) -> list[NeedRow]:
    levels = dict(CertificationLevel.objects.values_list("key", "name"))
    return [
        NeedRow(
            at=at,
            row=row,
            name=names.get(row["need"], row["need"]),
            problem=problems.get(row["problem"], row["problem"]),
            level=levels.get(row["level"], row["level"]),
            instead=", ".join(names.get(each, each) for each in row["serves_instead"]),
            wrong=", ".join(names.get(each, each) for each in row["wrong_grab"]),
        )
        for at, row in enumerate(call.needs)
    ]
