"""A kit as plain data, and the plan for it: what `manage.py stage_plan` reads and prints."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

from drills.engine.door import shown, shown_name
from drills.engine.layout import Layout, item_key
from drills.engine.optimum.ground import SIDES, PatientPlace
from drills.engine.optimum.motions import cs
from drills.engine.optimum.plan import Plan, Route, Visit, quickest
from drills.engine.optimum.rig import CAB, HANDS_OF_ONE, NEAR_PATIENT, Rig
from drills.engine.optimum.statement import Source, Statement, StatementError, Way
from drills.engine.staying import MOST_OF_ONE_KG, staying, too_heavy

MOST_THINGS, MOST_UNITS, MOST_METRES = 40, 99, 500
_COMPARED = 60
NO_TIES: Mapping[str, str] = MappingProxyType({})
# How the seconds of a plan add up, for whoever works it out again.
RULES = (
    "A walk goes from the begin over its stops to the patient; each opening on it is paid once.",
    "Of the entries of one place one is used, and they share its stock.",
    "A bag comes whole by one of its ways, with all its content, paid by its lift and no picks; "
    "then nothing else is taken from inside it. What holds says of it cannot be taken out.",
    "Each thing that comes in no bag costs its pick.",
    "Things and bags fill hands, on each walk up to hands; a bag that carries has no such limit.",
    "One person who goes twice begins the second walk at the patient and pays no opening again.",
    "Two people go at once, share no place and pay each what they open; the later of them counts.",
)
_FIELDS = ("layout", "kit", "people", "patient", "begin", "hands")


def told_plan(
    layout: Layout,
    given: Mapping[str, Any],
    *,
    is_explained: bool,
    ties: Mapping[str, str] = NO_TIES,
    controlled: Collection[str] = (),
) -> dict[str, Any]:
    """The plan for the kit of a document, with its seconds.

    `hands` are those of one person, null without a limit; a cot carries what is laid on it. `ties`
    are needs by thing key, and `controlled` the keys of things that are counted with a witness.
    With `is_explained` all that it was worked out from stands beside it, in hundredths of a second:
    enough to work the best plan out again elsewhere. Raises `StatementError` naming the field.
    """
    refuse_others(given)
    rig = Rig(layout).at(_patient(given))
    people = _one_of(given, "people", (1, 2))
    begin = _one_of(given, "begin", (NEAR_PATIENT, CAB))
    hands = _one_of(given, "hands", (1, 2, 3, 4, None), usual=HANDS_OF_ONE)
    kit = _kit(layout, given, staying(layout, ties))
    statement = rig.statement(kit, begin=begin, hands=hands)
    plan = quickest(statement, people)
    heavy = [] if _has_cot(statement, plan) else list(_of_heavy(kit, too_heavy(layout), people))
    told = {
        "layout": layout.slug,
        "people": people,
        "seconds": _seconds(plan.cs),
        "proved": plan.is_proved,
        "at_least": _seconds(plan.bound_cs),
        "carried": plan.is_carried and not (heavy and people == 1),
        "routes": [_told_route(rig, statement, route) for route in plan.routes],
        "notes": [*_of_locks(statement, plan), *heavy, *_of_controlled(kit, controlled)],
        "says": "Modelled times: a yardstick for practice, no standard of care.",
    }
    return {**told, "explained": _explained(rig, statement)} if is_explained else told


def refuse_others(given: Any) -> None:
    """Raise `StatementError` where something is no object, or has a field that is none of ours."""
    fields = ", ".join(_FIELDS)
    if not isinstance(given, Mapping):
        raise StatementError(
            f"standard input: {shown(given)} came in; an object with {fields} is accepted."
        )
    strange = sorted(set(given) - set(_FIELDS))
    if strange:
        raise StatementError(f"{shown_name(strange[0])}: no such field; there are {fields}.")


def _one_of(
    given: Mapping[str, Any],
    name: str,
    accepted: tuple[Any, ...],
    *,
    usual: Any = None,
    where: str = "",
) -> Any:
    """One of some values; the usual one where it is not there, which else is the first."""
    value = given.get(name, usual or accepted[0])
    if not any(value == each and type(value) is type(each) for each in accepted):
        words = ", ".join(map(shown, accepted))
        raise StatementError(f"{where}{name}: {shown(value)} came in; accepted is {words}.")
    return value


def _kit(layout: Layout, given: Mapping[str, Any], stays: Mapping[str, str]) -> dict[str, int]:
    kit = given.get("kit")
    if not isinstance(kit, Mapping) or not kit:
        came = shown(kit) if "kit" in given else "nothing"
        raise StatementError(
            f"kit: {came} came in; an object of things with how many of each is accepted."
        )
    if len(kit) > MOST_THINGS:
        raise StatementError(f"kit: {len(kit)} things came in; up to {MOST_THINGS} are accepted.")
    found: dict[str, int] = {}
    for name, count in kit.items():
        thing = _aboard(layout, name, _counted(name, count), stays)
        _refuse_built_in(name, stays)
        if thing in found:
            raise StatementError(f"kit, {shown_name(name)}: it came in twice.")
        found[thing] = count
    return found


def _counted(name: str, count: Any) -> int:
    """How many of a thing are asked for."""
    if type(count) is not int or not 1 <= count <= MOST_UNITS:
        raise StatementError(
            f"kit, {shown_name(name)}: {shown(count)} came in; a whole number, 1 to {MOST_UNITS}, "
            "is accepted."
        )
    return count


def _refuse_built_in(name: str, stays: Mapping[str, str]) -> None:
    if why := stays.get(item_key(name)):
        raise StatementError(
            f"kit, {shown_name(name)}: it stays with the rig: {why}. Things that can be carried "
            "are accepted."
        )


def _aboard(layout: Layout, name: str, count: int, stays: Mapping[str, str]) -> str:
    """The name of a thing as the layout has it, with so many of it aboard."""
    pars = Counter[str]()
    for line in layout.stock:
        pars[line.key] += line.par
    there_is = pars[item_key(name)]
    if not there_is:
        carried = [key for key in pars if key not in stays]
        raise StatementError(f"kit, {shown_name(name)}: {_not_aboard(layout, name, carried)}")
    if there_is < count:
        raise StatementError(
            f"kit, {shown_name(name)}: {count} came in; {there_is} are aboard, so 1 to {there_is} "
            "is accepted."
        )
    return layout.things[item_key(name)].name


def _not_aboard(layout: Layout, name: str, carried: Sequence[str]) -> str:
    """What is named instead can be brought."""
    if not carried:
        return f"nothing that can be brought is aboard of {layout.slug}."
    near = [
        layout.things[key].name for key in get_close_matches(item_key(name)[:_COMPARED], carried)
    ]
    if near:
        return f"no such thing is aboard; near it: {'; '.join(near)}."
    one = layout.things[carried[0]].name
    return f"no such thing is aboard; things are named as on the layout, such as {one}."


def _patient(given: Mapping[str, Any]) -> PatientPlace:
    told = given.get("patient", {})
    if not isinstance(told, Mapping):
        raise StatementError(
            f"patient: {shown(told)} came in; an object with side and metres is accepted."
        )
    strange = sorted(set(told) - {"side", "metres"})
    if strange:
        raise StatementError(
            f"patient, {shown_name(strange[0])}: no such field; there are side, metres."
        )
    usual = PatientPlace()
    metres = told.get("metres", usual.metres)
    is_number = isinstance(metres, int | float) and not isinstance(metres, bool)
    if not is_number or not 0 < metres <= MOST_METRES:
        raise StatementError(
            f"patient, metres: {shown(metres)} came in; above 0, and up to {MOST_METRES} "
            "is accepted."
        )
    side = _one_of(told, "side", SIDES, usual=usual.side, where="patient, ")
    return PatientPlace(side, float(metres))


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
        "locks": [_told_lock(each) for each in _locks(statement, visit)],
        "bags": [statement.bags[number].code for number in visit.bags],
        "with_bags": [
            {
                "item": statement.needs[need].name,
                "bag": statement.bags[number].code,
                "quantity": count,
            }
            for number in visit.bags
            for need, count in statement.content[number].items()
        ],
        "take": [
            {
                "item": statement.needs[take.need].name,
                "from": take.place.code,
                "quantity": take.count,
            }
            for take in visit.taken
        ],
    }


def _locks(statement: Statement, visit: Visit) -> list[str]:
    """The compartments with a lock that are opened at a stop, by their codes."""
    opened = (statement.openings[each] for each in visit.opened)
    return [each.locked for each in opened if each.locked]


def _told_lock(code: str) -> dict[str, Any]:
    return {"place": code, "seconds": _seconds(cs("lock"))}


def _of_locks(statement: Statement, plan: Plan) -> Iterator[str]:
    """What is locked on the way, as a note."""
    visits = (visit for route in plan.routes for visit in route.visits)
    if locked := dict.fromkeys(code for visit in visits for code in _locks(statement, visit)):
        yield (
            f"Locked: {', '.join(locked)}. A key or a code is in the seconds of each; "
            "to find who has it is not."
        )


def _has_cot(statement: Statement, plan: Plan) -> bool:
    """Whether a cot is brought, which takes what is heavy."""
    visits = (visit for route in plan.routes for visit in route.visits)
    return any(statement.bags[number].carries for visit in visits for number in visit.bags)


def _of_heavy(kit: Iterable[str], heavy: Mapping[str, Decimal], people: int) -> Iterator[str]:
    """What one person does not carry, as a note."""
    if told := [f"{name}, {heavy[key]:f} kg" for name in kit if (key := item_key(name)) in heavy]:
        who = "the two carry it together" if people > 1 else "it takes two, or the cot"
        yield (
            f"Too heavy for one: {'; '.join(told)}. One person carries up to {MOST_OF_ONE_KG} kg; "
            f"{who}. What that takes more is not in the seconds."
        )


def _of_controlled(kit: Iterable[str], controlled: Collection[str]) -> Iterator[str]:
    """Who may take what is controlled, as a note."""
    if counted := [name for name in kit if item_key(name) in controlled]:
        yield (
            f"Controlled: {'; '.join(counted)}. The authorised person takes it, with a count and "
            "a witness, and it is never laid on a tarp. That time is not in the seconds."
        )


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
        "bags": [_told_bag(statement, number) for number in range(len(statement.bags))],
        "rules": list(RULES),
    }


def _told_source(statement: Statement, source: Source) -> dict[str, Any]:
    return {
        "place": source.place.name,
        **_told_way(statement, source),
        "stock": _named(statement, source.stock),
        "in_bags": _codes(statement, source.bags),
    }


def _told_bag(statement: Statement, number: int) -> dict[str, Any]:
    bag = statement.bags[number]
    return {
        "code": bag.code,
        "lift": bag.cs,
        "hands": bag.hands,
        "in_bags": _codes(statement, bag.within),
        "carries": bag.carries,
        "holds": _named(statement, bag.holds),
        "content": _named(statement, statement.content[number]),
        "ways": [_told_way(statement, way) for way in bag.ways],
    }


def _named(statement: Statement, counts: Mapping[int, int]) -> dict[str, int]:
    """So many of each thing, by its name."""
    return {statement.needs[need].name: count for need, count in counts.items()}


def _told_way(statement: Statement, way: Way | Source) -> dict[str, Any]:
    opened = [statement.openings[opening].code for opening in way.openings]
    return {"stop": way.stop, "open": opened}


def _codes(statement: Statement, bags: Iterable[int]) -> list[str]:
    return [statement.bags[number].code for number in sorted(bags)]
