"""The least time by a constraint solver (OR-tools CP-SAT), without any of our search."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from ortools.sat.python import cp_model

from drills.engine.optimum.statement import Place, Statement


@dataclass(frozen=True)
class Refereed:
    """What the solver found: the least time or None without any plan, and no plan below `bound`."""

    cs: int | None
    bound: int
    is_proved: bool


@dataclass
class _Route:
    """The variables of one walk."""

    visited: list[Any]
    opened: list[Any]
    used: list[Any]
    taken: dict[tuple[int, int], Any]
    lifted: dict[tuple[int, int], Any]
    walk: Any = 0
    hands: list[Any] = field(default_factory=list)


def referee(
    statement: Statement, *, people: int = 1, trips: int = 1, seconds: float = 10
) -> Refereed:
    """The least time of one person in up to so many trips, or of two people with one each."""
    model = cp_model.CpModel()
    routes = [_route(model, statement, at, people) for at in range(max(people, trips))]
    _brought(model, statement, routes)
    _placed_once(model, statement, routes, people)
    cost = _cost(model, statement, routes, people)
    model.minimize(cost)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return Refereed(None, 0, is_proved=True)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return Refereed(
        round(solver.objective_value) if found else None,
        round(solver.best_objective_bound),
        is_proved=status == cp_model.OPTIMAL,
    )


def _route(model: Any, statement: Statement, at: int, people: int) -> _Route:
    stops = statement.stops
    visited = [model.new_bool_var("") for _ in range(stops)]
    route = _Route(
        visited=visited,
        opened=[model.new_bool_var("") for _ in statement.openings],
        used=[model.new_bool_var("") for _ in statement.sources],
        taken={
            (n, need): model.new_int_var(0, min(count, statement.needs[need].quantity), "")
            for n, source in enumerate(statement.sources)
            for need, count in source.stock.items()
        },
        lifted={
            (n, w): model.new_bool_var("")
            for n, bag in enumerate(statement.bags)
            for w in range(len(bag.ways))
        },
    )
    begin = statement.begin if at == 0 or people > 1 else statement.end
    route.walk = _circuit(model, statement, visited, begin)
    for n, source in enumerate(statement.sources):
        used = route.used[n]
        model.add_implication(used, visited[source.stop])
        for opening in source.openings:
            model.add_implication(used, route.opened[opening])
        for need in source.stock:
            model.add(route.taken[n, need] == 0).only_enforce_if(used.negated())
    for (n, w), lifted in route.lifted.items():
        way = statement.bags[n].ways[w]
        model.add_implication(lifted, visited[way.stop])
        for opening in way.openings:
            model.add_implication(lifted, route.opened[opening])
    hands = [
        statement.needs[number].hands * taken
        for (_, number), taken in route.taken.items()
        if statement.needs[number].hands
    ]
    hands += [statement.bags[n].hands * lifted for (n, _), lifted in route.lifted.items()]
    if statement.hands is not None and hands:
        cots = [lifted for (n, _), lifted in route.lifted.items() if statement.bags[n].carries]
        by_hand = [cot.negated() for cot in cots]
        model.add(sum(hands) <= statement.hands).only_enforce_if(by_hand)
    return route


def _circuit(model: Any, statement: Statement, visited: Sequence[Any], begin: int) -> Any:
    """One walk from the begin over what is visited to the end; the way back costs nothing."""
    walk, end, stops = statement.walk_cs, statement.end, statement.stops
    first, last = stops, stops + 1
    arcs, costs = [(last, first, model.new_constant(1))], []
    for a in range(stops):
        arcs.append((a, a, visited[a].negated()))
        for node, cs, is_out in ((first, walk[begin][a], True), (last, walk[a][end], False)):
            arc = model.new_bool_var("")
            arcs.append((node, a, arc) if is_out else (a, node, arc))
            costs.append(cs * arc)
        for b in range(stops):
            if a != b:
                arc = model.new_bool_var("")
                arcs.append((a, b, arc))
                costs.append(walk[a][b] * arc)
    idle = model.new_bool_var("")
    arcs.append((first, last, idle))
    costs.append(walk[begin][end] * idle)
    model.add_circuit(arcs)
    return sum(costs)


def _brought(model: Any, statement: Statement, routes: Sequence[_Route]) -> None:
    """All that is needed comes out of places and bags; nothing is taken out of a bag that is
    brought whole, and none is brought twice or inside another."""
    content = statement.content
    for n, bag in enumerate(statement.bags):
        whole = [var for r in routes for (m, _), var in r.lifted.items() if m == n]
        model.add_at_most_one(whole)
        for at, source in enumerate(statement.sources):
            if n in source.bags:
                for route in routes:
                    model.add(sum(whole) + route.used[at] <= 1)
        for outer in bag.within:
            model.add(
                sum(whole) + sum(v for r in routes for (m, _), v in r.lifted.items() if m == outer)
                <= 1
            )
    for number, need in enumerate(statement.needs):
        taken = [v for r in routes for (_, k), v in r.taken.items() if k == number]
        brought = [
            content[n].get(number, 0) * var for r in routes for (n, _), var in r.lifted.items()
        ]
        model.add(sum(taken) + sum(brought) >= need.quantity)


def _placed_once(model: Any, statement: Statement, routes: Sequence[_Route], people: int) -> None:
    """A place is used from one side, by one person; its stock is counted once."""
    places: dict[Place, list[int]] = {}
    for n, source in enumerate(statement.sources):
        places.setdefault(source.place, []).append(n)
    for numbers in places.values():
        if people > 1:
            model.add_at_most_one(r.used[n] for r in routes for n in numbers)
            continue
        for route in routes:
            model.add_at_most_one(route.used[n] for n in numbers)
        for need, count in statement.sources[numbers[0]].stock.items():
            model.add(sum(r.taken[n, need] for r in routes for n in numbers) <= count)


def _cost(model: Any, statement: Statement, routes: Sequence[_Route], people: int) -> Any:
    def opened(variables: Sequence[Any]) -> Any:
        return sum(o.cs * var for o, var in zip(statement.openings, variables, strict=True))

    def brought(route: _Route) -> Any:
        lifted = sum(statement.bags[n].cs * var for (n, _), var in route.lifted.items())
        picked = sum(statement.needs[need].pick_cs * var for (_, need), var in route.taken.items())
        return lifted + picked

    if people > 1:
        latest = model.new_int_var(0, 10_000_000, "")
        for route in routes:
            model.add(latest >= route.walk + opened(route.opened) + brought(route))
        return latest
    either = []
    for pair in zip(*(r.opened for r in routes), strict=True):
        var = model.new_bool_var("")
        for each in pair:
            model.add_implication(each, var)
        either.append(var)
    return opened(either) + sum(route.walk + brought(route) for route in routes)
