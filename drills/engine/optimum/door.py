"""A kit as plain data, and the plan for it: what `manage.py stage_plan` reads and prints."""

from collections import Counter
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from drills.engine.layout import Layout, item_key
from drills.engine.optimum.ground import SIDES, PatientPlace
from drills.engine.optimum.plan import Route, Visit, quickest
from drills.engine.optimum.rig import CAB, HANDS_OF_ONE, NEAR_PATIENT, Rig
from drills.engine.optimum.statement import Bag, Source, Statement, StatementError, Way

MOST_THINGS, MOST_UNITS, MOST_METRES = 40, 99, 500
_SHOWN = 60
_FIELDS = ("layout", "kit", "people", "patient", "begin", "hands")


def told_plan(layout: Layout, given: Mapping[str, Any], *, is_explained: bool) -> dict[str, Any]:
    """The plan for the kit of a document, with its seconds.

    `hands` are those of one person, null without a limit; a cot carries what is laid on it. With
    `is_explained` all that it was worked out from stands beside it, in hundredths of a second:
    enough to work the best plan out again elsewhere. Raises `StatementError` naming the field.
    """
    refuse_others(given)
    rig = Rig(layout).at(_patient(given))
    people = _one_of(given, "people", (1, 2))
    begin = _one_of(given, "begin", (NEAR_PATIENT, CAB))
    hands = _one_of(given, "hands", (HANDS_OF_ONE, 1, 3, 4, None))
    statement = rig.statement(_kit(layout, given), begin=begin, hands=hands)
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


def refuse_others(given: Any) -> None:
    """Raise `StatementError` where something is no object, or has a field that is none of ours."""
    fields = ", ".join(_FIELDS)
    if not isinstance(given, Mapping):
        raise StatementError(
            f"standard input: {_came(given)} came in; an object with {fields} is accepted."
        )
    strange = sorted(set(given) - set(_FIELDS))
    if strange:
        raise StatementError(f"{_cut(strange[0])}: no such field; there are {fields}.")


def _came(value: Any) -> str:
    """What came in, not longer than can be read."""
    return _cut(repr(value))


def _cut(text: str) -> str:
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}\N{HORIZONTAL ELLIPSIS}"


def _one_of(given: Mapping[str, Any], name: str, accepted: tuple[Any, ...]) -> Any:
    """One of some values; the first where it is not there."""
    value = given.get(name, accepted[0])
    if not any(value == each and type(value) is type(each) for each in accepted):
        words = ", ".join("null" if each is None else str(each) for each in accepted)
        raise StatementError(f"{name}: {_came(value)} came in; accepted is {words}.")
    return value


def _kit(layout: Layout, given: Mapping[str, Any]) -> dict[str, int]:
    kit = given.get("kit")
    if not isinstance(kit, Mapping) or not kit:
        raise StatementError(
            f"kit: {_came(kit)} came in; an object of things with how many of each is accepted."
        )
    if len(kit) > MOST_THINGS:
        raise StatementError(f"kit: {len(kit)} things came in; up to {MOST_THINGS} are accepted.")
    found: dict[str, int] = {}
    for name, count in kit.items():
        if type(count) is not int or not 1 <= count <= MOST_UNITS:
            raise StatementError(
                f"kit, {_cut(name)}: {_came(count)} came in; 1 to {MOST_UNITS} is accepted."
            )
        thing = _aboard(layout, name, count)
        if thing in found:
            raise StatementError(f"kit, {_cut(name)}: it came in twice.")
        found[thing] = count
    return found


def _aboard(layout: Layout, name: str, count: int) -> str:
    """The name of a thing as the layout has it, with so many of it aboard."""
    pars = Counter[str]()
    for line in layout.stock:
        pars[line.key] += line.par
    there_is = pars[item_key(name)]
    if not there_is:
        raise StatementError(f"kit, {_cut(name)}: {_not_aboard(layout, name, +pars)}")
    if there_is < count:
        raise StatementError(
            f"kit, {_cut(name)}: {count} came in; {there_is} are aboard, so 1 to {there_is} "
            "is accepted."
        )
    return layout.things[item_key(name)].name


def _not_aboard(layout: Layout, name: str, aboard: Mapping[str, int]) -> str:
    if not aboard:
        return f"nothing is aboard of {layout.slug}."
    near = [layout.things[key].name for key in get_close_matches(item_key(name)[:_SHOWN], aboard)]
    if near:
        return f"no such thing is aboard; near it: {'; '.join(near)}."
    one = layout.things[next(iter(aboard))].name
    return f"no such thing is aboard; things are named as on the layout, such as {one}."


def _patient(given: Mapping[str, Any]) -> PatientPlace:
    told = given.get("patient", {})
    if not isinstance(told, Mapping):
        raise StatementError(
            f"patient: {_came(told)} came in; an object with side and metres is accepted."
        )
    strange = sorted(set(told) - {"side", "metres"})
    if strange:
        raise StatementError(f"patient, {_cut(strange[0])}: no such field; there are side, metres.")
    usual = PatientPlace()
    metres = told.get("metres", usual.metres)
    is_number = isinstance(metres, int | float) and not isinstance(metres, bool)
    if not is_number or not 0 < metres <= MOST_METRES:
        raise StatementError(
            f"patient, metres: {_came(metres)} came in; above 0, and up to {MOST_METRES} "
            "is accepted."
        )
    return PatientPlace(_one_of(told, "side", (usual.side, *sorted(SIDES))), float(metres))


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
                "from": take.place.code,
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
        "place": source.place.name,
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
        "carries": bag.carries,
        "holds": {statement.needs[need].name: n for need, n in bag.holds.items()},
        "ways": [_told_way(statement, way) for way in bag.ways],
    }


def _told_way(statement: Statement, way: Way | Source) -> dict[str, Any]:
    opened = [statement.openings[opening].code for opening in way.openings]
    return {"stop": way.stop, "open": opened}


def _codes(statement: Statement, bags: Iterable[int]) -> list[str]:
    return [statement.bags[number].code for number in sorted(bags)]
