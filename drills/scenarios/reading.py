"""Call types and what they are made from, as the engine's value objects."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from drills.engine import calls
from drills.engine.callmaking import Material
from drills.engine.carried import Aboard
from drills.engine.elsewhere import Elsewhere
from drills.engine.layout import Layout
from drills.engine.medicines import MedicineRule
from drills.engine.optimum.motions import Multipliers
from drills.engine.pools import is_for_children
from drills.engine.recipes import CONTROLLED, PAEDIATRIC, RecipeSpec
from drills.formulary.reports import FormularyLockedError, dosing_settings, rules_in_force
from drills.formulary.waiting import SET_SORTING
from drills.people.models import AuditEntry
from drills.rigs.carried import carried_in
from drills.rigs.models import Need, Revision
from drills.rigs.photographed import controlled_items
from drills.rigs.reading import layout_of
from drills.rigs.ties import Tie, need_ties
from drills.scenarios.models import (
    AgeBand,
    CallType,
    Drill,
    Locality,
    Problem,
    SortingSettings,
)

RANGES = ("hr", "rr", "sbp", "spo2", "gcs", "etco2", "glucose", "temp", "cohb")


def layout_asked(drill: Drill) -> Layout:
    """What a drill was made from: its revision, as the rig had it when it was made.

    Judging, telling and drawing go by it, so that they never speak of two rigs.
    """
    return layout_of(drill.revision, [Elsewhere(*each) for each in drill.differences])


def motions_asked(drill: Drill) -> Multipliers:
    """The motion table that was in force when a drill was made: its targets never change."""
    return Multipliers(**drill.motions)


def material_of(
    revision: Revision, *, now: datetime, is_assessed: bool, layout: Layout | None = None
) -> Material:
    """All that calls on a revision are made from; without a formulary in force, the reason.

    `layout` is the revision as one rig has it, where that is asked. Nothing assessed rests on a
    tie that its keeper has not confirmed.
    """
    rules: tuple[MedicineRule, ...] = ()
    refusal = ""
    try:
        rules = rules_in_force(now).rules
    except FormularyLockedError as error:
        refusal = str(error)
    ties = _ties_aboard(revision, layout)
    names = _need_names()
    return Material(
        call_types=tuple(
            call_type_of(row, names) for row in CallType.objects.filter(retired_on=None)
        ),
        world=call_world(),
        ties={item: tie.need for item, tie in ties.items() if tie.is_confirmed or not is_assessed},
        unconfirmed=frozenset(item for item, tie in ties.items() if not tie.is_confirmed),
        rules=rules,
        refusal=refusal,
        holds={item: tie.holds for item, tie in ties.items() if tie.holds > 1},
        aboard=_aboard(revision, layout, is_assessed=is_assessed),
        settings=dosing_settings().settings,
        sorting=sorting_settings().sorting,
    )


def _ties_aboard(revision: Revision, layout: Layout | None) -> dict[str, Tie]:
    """What is not aboard a rig serves no need there."""
    ties = need_ties(revision)
    return {key: tie for key, tie in ties.items() if layout is None or key in layout.things}


def looked_to(revision: Revision, layout: Layout, spec: RecipeSpec) -> dict[str, set[str]]:
    """The things of a layout, by key, that a recipe looks to where that takes more than the layout.

    As tied, or as likest to be: which things are asked rests on it, and never what is right.
    """
    found: dict[str, set[str]] = {}
    if CONTROLLED in spec.focus:
        found[CONTROLLED] = controlled_items(revision, layout.things)
    if PAEDIATRIC in spec.focus:
        needs = {each.key: each for each in Need.objects.all()}
        ties = need_ties(revision)
        found[PAEDIATRIC] = {
            key
            for key, thing in layout.things.items()
            if is_for_children(thing.category, name=thing.name)
            or (key in ties and _is_for_children(needs[ties[key].need]))
        }
    return found


def _is_for_children(need: Need) -> bool:
    return is_for_children(need.category, size=need.size, name=need.name_us)


def sorting_settings() -> SortingSettings:
    """How the service sorts patients; where nobody set it, as it comes."""
    return SortingSettings.objects.first() or SortingSettings()


def sorting_set_by() -> str:
    """Who set it, by the audit; empty of nobody, and of who has left."""
    entry = AuditEntry.objects.filter(action=SET_SORTING).select_related("actor").last()
    return entry.actor.name if entry and entry.actor else ""


def _aboard(revision: Revision, layout: Layout | None, *, is_assessed: bool) -> Aboard:
    """What is carried; for what is assessed without what rests on a suggestion."""
    carried = carried_in(layout or layout_of(revision), revision)
    return carried.confirmed if is_assessed else carried


def _need_names() -> dict[str, str]:
    """What each need is called on pages, by its key."""
    said = Need.objects.values_list("key", "name_intl", "name_us")
    return {key: name or other for key, name, other in said}


def call_type_of(row: CallType, names: Mapping[str, str]) -> calls.CallType:
    """A call type with its phrases, patients and needs; `names` are those of needs, by key."""
    return calls.CallType(
        slug=row.slug,
        name=row.name,
        least=row.patients_least,
        most=row.patients_most,
        road_kinds=tuple(row.road_kinds),
        phrases=tuple(
            calls.Phrase(
                each["text"],
                tuple(each["age_bands"]),
                tuple(each["problems"]),
                tuple(each.get("severities", ())),
            )
            for each in row.phrases
        ),
        profiles=tuple(map(_profile, row.patients)),
        needs=tuple(_need(each, names) for each in row.needs),
        is_reviewed=bool(row.reviewed_by),
        size_up=row.size_up,
        hazards=tuple(row.hazards),
        hazards_here=tuple(row.hazards_here),
        hazards_possible=tuple(row.hazards_possible),
        asks_for=tuple(row.asks_for),
        may_ask_for=tuple(row.may_ask_for),
    )


def call_world() -> calls.CallWorld:
    """Everything calls are made from beside their types, in three queries."""
    localities = list(Locality.objects.all())
    return calls.CallWorld(
        bands={
            row.key: calls.AgeBand(row.key, row.age_from_y, row.age_to_y, row.size)
            for row in AgeBand.objects.all()
        },
        problems={row.slug: problem_of(row) for row in Problem.objects.all()},
        places=tuple(row.name for row in localities if row.kind == "place"),
        roads=tuple((row.name, row.road_kind) for row in localities if row.kind == "road"),
    )


def _profile(given: Mapping[str, Any]) -> calls.Profile:
    return calls.Profile(
        problem=given["problem"],
        # Databases give keys back in orders of their own, and a seed draws along this one.
        shares=dict(sorted(given["age_bands"].items())),
        ages=(given["age_from_y"], given["age_to_y"]),
        female_share=given["female_share"],
        is_always=given["is_always"],
        weight=given["weight"] or 0.0,
        severities=tuple(given["severities"]),
    )


def _need(given: Mapping[str, Any], names: Mapping[str, str]) -> calls.CallNeed:
    return calls.CallNeed(
        need=given["need"],
        name=names.get(given["need"], given["need"]),
        grade=given["grade"],
        quantity=given["quantity"],
        per=given["per"],
        problem=given["problem"],
        size=given["size"],
        level=given["level"],
        instead=tuple(given["serves_instead"]),
        wrong_grab=tuple(given["wrong_grab"]),
        why=given["why"],
        severities=tuple(given.get("severities", ())),
    )


def problem_of(row: Problem) -> calls.Problem:
    """A problem with its states and vital signs."""
    return calls.Problem(
        key=row.slug,
        name=row.name,
        states=tuple(
            calls.State(each["severity"], each["findings"], tuple(each["age_bands"]), _ranges(each))
            for each in row.states
        ),
        vitals=tuple(
            calls.Vitals(each["severity"], each["age_band"], _ranges(each)) for each in row.vitals
        ),
    )


def _ranges(given: Mapping[str, Any]) -> dict[str, tuple[float, float]]:
    return {name: (given[name][0], given[name][1]) for name in RANGES if given.get(name)}
