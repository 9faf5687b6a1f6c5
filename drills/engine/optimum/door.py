"""A kit as plain data, and the plan for it: what `manage.py stage_plan` reads and prints."""

from collections.abc import Iterable, Mapping
from typing import Any

from drills.engine.layout import Layout, item_key
from drills.engine.optimum.ground import SIDES, Patient
from drills.engine.optimum.plan import Route, Visit, quickest
from drills.engine.optimum.rig import CAB, HANDS_OF_ONE, NEAR_PATIENT, Rig
from drills.engine.optimum.statement import Bag, Source, Statement, StatementError, Way

MOST_UNITS, MOST_METRES = 99, 500
_FIELDS = ("layout", "kit", "people", "patient", "begin", "hands")


def told_plan(layout: Layout, given: Mapping[str, Any], *, is_explained: bool) -> dict[str, Any]:
    """The plan for the kit of a document, with its seconds.

    `hands` are those of one person, null without a limit, as with the cot at hand. With
    `is_explained` all that it was worked out from stands beside it, in hundredths of a second:
    enough to work the best plan out again elsewhere. Raises `StatementError` naming the field.
    """
    _refuse_others(given)
    rig = Rig(layout)
    people = _one_of(given, "people", (1, 2))
    begin = _one_of(given, "begin", (NEAR_PATIENT, CAB))
    is_free = given.get("hands", HANDS_OF_ONE) is None
    hands = None if is_free else _one_of(given, "hands", (HANDS_OF_ONE, 1, 3, 4))
    statement = rig.statement(_kit(given), patient=_patient(given), begin=begin, hands=hands)
    plan = quickest(statement, people)
    told = {
        "layout": layout.slug,
        "people": people,
        "seconds": _seconds(plan.cs),
        "proved": plan.is_proved,
        "at_least": _seconds(plan.bound_cs),
        "carried": plan.is_carried,
        "routes": [_told_route(rig, statement, route) for route in plan.routes],
        "says": "Modelled times: a yardstick for practice, no standard of care.",
    }
    return {**told, "explained": _explained(rig, statement)} if is_explained else told


def _refuse_others(given: Any) -> None:
    if not isinstance(given, Mapping):
        raise StatementError(f"standard input: an object with {', '.join(_FIELDS)} is accepted.")
    strange = sorted(set(given) - set(_FIELDS))
    if strange:
        raise StatementError(f"{strange[0]}: no such field; there are {', '.join(_FIELDS)}.")


def _one_of(given: Mapping[str, Any], name: str, accepted: tuple[Any, ...]) -> Any:
    """One of some values; the first where it is not there."""
    value = given.get(name, accepted[0])
    if value not in accepted or type(value) is not type(accepted[0]):
        words = ", ".join(map(str, accepted))
        raise StatementError(f"{name}: {value!r} came in; accepted is {words}.")
    return value


def _kit(given: Mapping[str, Any]) -> dict[str, int]:
    kit = given.get("kit")
    if not isinstance(kit, Mapping) or not kit:
        raise StatementError("kit: an object of things with how many of each is accepted.")
    found: dict[str, int] = {}
    for name, count in kit.items():
        if type(count) is not int or not 1 <= count <= MOST_UNITS:
            raise StatementError(f"kit, {name}: {count!r} came in; 1 to {MOST_UNITS} is accepted.")
        if item_key(name) in map(item_key, found):
            raise StatementError(f"kit, {name}: it came in twice.")
        found[name] = count
    return found


def _patient(given: Mapping[str, Any]) -> Patient:
    told = given.get("patient", {})
    if not isinstance(told, Mapping) or set(told) - {"side", "metres"}:
        raise StatementError("patient: an object with side and metres is accepted.")
    usual = Patient()
    metres = told.get("metres", usual.metres)
    is_number = isinstance(metres, int | float) and not isinstance(metres, bool)
    if not is_number or not 0 < metres <= MOST_METRES:
        raise StatementError(
            f"patient, metres: {metres!r} came in; up to {MOST_METRES} is accepted."
        )
    return Patient(_one_of(told, "side", (usual.side, *sorted(SIDES))), float(metres))


def _seconds(cs: int) -> float:
    return cs / 100


def _told_route(rig: Rig, statement: Statement, route: Route) -> dict[str, Any]:
    return {
        "seconds": _seconds(route.cs),
        "stops": [_told_visit(rig, statement, visit) for visit in route.visits],
    }


def _told_visit(rig: Rig, statement: Statement, visit: Visit) -> dict[str, Any]:
    return {
        "at": rig.ground.standing[visit.stop].name,
        "stop": visit.stop,
        "open": [statement.openings[opening].code for opening in visit.opened],
        "bags": [statement.bags[number].code for number in visit.bags],
        "take": [
            {
                "item": statement.needs[take.need].name,
                "from": take.place.partition(" ")[0],
                "quantity": take.count,
            }
            for take in visit.taken
        ],
    }


def _explained(rig: Rig, statement: Statement) -> dict[str, Any]:
    """All that a plan is worked out from: walks, openings, stock, bags and picks."""
    return {
        "unit": "hundredths of a second",
        "stops": [each.name for each in rig.ground.standing],
        "walk": [list(row) for row in statement.walk_cs],
        "walk_ends": "the last two rows and columns: where the walk begins, and the patient",
        "hands": statement.hands,
        "openings": {each.code: each.cs for each in statement.openings},
        "needs": [
            {"item": e.name, "quantity": e.quantity, "pick": e.pick_cs, "hands": e.hands}
            for e in statement.needs
        ],
        "sources": [_told_source(statement, each) for each in statement.sources],
        "bags": [_told_bag(statement, each) for each in statement.bags],
    }


def _told_source(statement: Statement, source: Source) -> dict[str, Any]:
    return {
        "place": source.place,
        **_told_way(statement, source),
        "stock": {statement.needs[need].name: n for need, n in source.stock.items()},
        "in_bags": _codes(statement, source.bags),
    }


def _told_bag(statement: Statement, bag: Bag) -> dict[str, Any]:
    return {
        "code": bag.code,
        "lift": bag.cs,
        "hands": bag.hands,
        "in_bags": _codes(statement, bag.within),
        "ways": [_told_way(statement, way) for way in bag.ways],
    }


def _told_way(statement: Statement, way: Way | Source) -> dict[str, Any]:
    opened = [statement.openings[opening].code for opening in way.openings]
    return {"stop": way.stop, "open": opened}


def _codes(statement: Statement, bags: Iterable[int]) -> list[str]:
    return [statement.bags[number].code for number in sorted(bags)]
