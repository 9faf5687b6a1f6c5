"""Rigs and kits made at random, as rigs are, and small ones to list every choice of."""

import math
from dataclasses import dataclass, field, replace
from itertools import combinations
from random import Random

import numpy as np

from drills.engine.optimum.statement import Bag, Need, Opening, Place, Source, Statement, Way
from tests.engine.optimum_listing import choices_of

# Dealt to two routes in more ways, a small statement takes minutes to list.
MOST_CHOICES = 60_000
TURN, STEP, PICK = 67, 65, 155
CLOSURES = (294, 215, 245, 217, 0)
HEIGHTS = (0, 0, 0, 72, 219)


def seeded(seed: int) -> Random:
    """What an instance is drawn from, always the same."""
    return Random(seed)  # noqa: S311 - instances, no secrets


Ways = list[tuple[int, tuple[int, ...]]]


@dataclass
class Making:
    """A statement while it is made."""

    spots: list[tuple[str, float, float]] = field(default_factory=list)
    openings: list[Opening] = field(default_factory=list)
    places: list[tuple[str, Ways, frozenset[int]]] = field(default_factory=list)
    bags: list[Bag] = field(default_factory=list)

    def opening(self, cs: int) -> int:
        self.openings.append(Opening(f"O{len(self.openings)}", cs))
        return len(self.openings) - 1


def rig(
    random: Random,
    *,
    hands: int | None = 2,
    most: int = 22,
    exactly: bool = False,
    has_cot: bool = False,
) -> Statement:
    """A rig of 40 to 60 doors with bags; a kit of 6 to 16 needs with at most so many sources.

    With a cot, which comes out by the rear, every third need is heavy.
    """
    while True:
        made = _rig(random, hands, has_cot=has_cot)
        count = len(made.sources)
        if (count == most if exactly else count <= most) and count:
            return made


def _rig(random: Random, hands: int | None, *, has_cot: bool) -> Statement:
    making = Making()
    box, width = random.uniform(3.6, 4.6), 2.4
    outside = [("street", random.uniform(0, box)) for _ in range(random.randint(4, 6))]
    outside += [("curb", random.uniform(0, box)) for _ in range(random.randint(3, 4))]
    outside += [("rear", width / 2), ("cab", random.choice((0.0, width)))]
    stops: list[tuple[float, float]] = []
    tops: list[list[tuple[int, int]]] = []
    for face, at in outside:
        x, y = {
            "street": (at, -0.5),
            "curb": (at, width + 0.5),
            "rear": (box + 0.5, width / 2),
            "cab": (-1.0, -0.5 if at == 0.0 else width + 0.5),
        }[face]
        stop = _stop(stops, x, y)
        for _ in range(random.randint(1, 3)):
            tops.append([(stop, making.opening(_fixed(random)))])
    aisle = []
    for number in range(int(box / 0.8) + 1):
        stops.append((0.4 + number * 0.8, width / 2))
        aisle.append(len(stops) - 1)
    for _ in range(random.randint(40, 60) - len(tops)):
        tops.append([(random.choice(aisle), making.opening(_fixed(random)))])
    for top in random.sample(tops, max(len(tops) // 18, 1)):
        top.append((random.choice(aisle), making.opening(_fixed(random))))
    _fill(random, making, tops)
    walk = _walk(random, stops, aisle, box, width)
    if has_cot:
        rear = next(stop for stop, (x, _) in enumerate(stops) if x == box + 0.5)
        cot = Bag("cot", 1000, (Way(rear, (making.opening(290),)),), carries=True)
        making.bags.append(cot)
    return _asked(random, making, walk, hands)


def _stop(stops: list[tuple[float, float]], x: float, y: float) -> int:
    for at, (other_x, other_y) in enumerate(stops):
        if y == other_y and abs(x - other_x) < 0.6:
            return at
    stops.append((x, y))
    return len(stops) - 1


def _fixed(random: Random) -> int:
    return TURN + random.choice(CLOSURES) + random.choice(HEIGHTS) + 26 * random.randint(1, 6)


def _fill(random: Random, making: Making, tops: list[list[tuple[int, int]]]) -> None:
    """Shelves in some, and bags with pockets in a few."""
    for top in tops:
        shelves = random.randint(2, 4) if random.random() < 0.4 else 0
        for _ in range(shelves):
            shelf = making.opening(random.choice((52, 78, 215)))
            ways: Ways = [(stop, (door, shelf)) for stop, door in top]
            making.places.append((f"P{len(making.places)}", ways, frozenset()))
        if not shelves:
            ways = [(stop, (door,)) for stop, door in top]
            making.places.append((f"P{len(making.places)}", ways, frozenset()))
    for number, top in enumerate(random.sample(tops, random.randint(3, 5))):
        zipped = making.opening(217)
        making.bags.append(Bag(f"B{number}", 230, tuple(Way(stop, (door,)) for stop, door in top)))
        for _ in range(random.randint(3, 6)):
            pocket = making.opening(117 + 26 * random.randint(1, 3))
            ways = [(stop, (door, zipped, pocket)) for stop, door in top]
            making.places.append((f"P{len(making.places)}", ways, frozenset({number})))


def _walk(
    random: Random, stops: list[tuple[float, float]], aisle: list[int], box: float, width: float
) -> tuple[tuple[int, ...], ...]:
    """Least times between all stops, the begin and the patient, in cs."""
    far = random.uniform(4, 14)
    patient = random.choice(
        [(-2 - far, 1.2), (box + far, 1.2), (box / 2, -far), (box / 2, width + far)]
    )
    begin = patient if random.random() < 2 / 3 else (-1.0, -0.5)
    corners = [(-2.5, -0.5), (-2.5, width + 0.5), (box + 0.5, -0.5), (box + 0.5, width + 0.5)]
    nodes = [*stops, begin, patient, *corners]
    first_corner = len(stops) + 2
    size = len(nodes)
    cost = [[math.inf] * size for _ in nodes]
    for a in range(size):
        cost[a][a] = 0
    for a, b in combinations(range(size), 2):
        if (a in aisle) != (b in aisle):
            continue
        speed = 0.8 if a in aisle else 1.2
        if a in aisle or not _crosses(nodes[a], nodes[b], box, width):
            corner = TURN / 2 * ((a >= first_corner) + (b >= first_corner))
            cost[a][b] = cost[b][a] = math.ceil(
                math.dist(nodes[a], nodes[b]) / speed * 100 + corner
            )
    rear = next(n for n, (x, _) in enumerate(stops) if x == box + 0.5)
    passing = 2 * STEP + 147
    cost[rear][aisle[-1]] = cost[aisle[-1]][rear] = passing
    side = min((n for n, (_, y) in enumerate(stops) if y == width + 0.5), key=lambda n: stops[n][0])
    cost[side][aisle[0]] = cost[aisle[0]][side] = passing
    _shorten(cost)
    kept = range(len(stops) + 2)
    return tuple(tuple(int(cost[a][b]) for b in kept) for a in kept)


def _shorten(cost: list[list[float]]) -> None:
    """Every way by way of others where that is shorter: then it is a metric."""
    found = np.array(cost)
    for middle in range(len(found)):
        np.minimum(found, found[:, middle][:, None] + found[middle], out=found)
    cost[:] = found.tolist()


def _crosses(a: tuple[float, float], b: tuple[float, float], box: float, width: float) -> bool:
    """Whether a straight line goes through the body."""
    for step in range(1, 40):
        x, y = (p + (q - p) * step / 40 for p, q in zip(a, b, strict=True))
        if -2 < x < box and 0 < y < width:
            return True
    return False


def _asked(
    random: Random, making: Making, walk: tuple[tuple[int, ...], ...], hands: int | None
) -> Statement:
    """A kit out of 110 to 179 things, each in one place, two or three."""
    things = [_held(random, making) for _ in range(random.randint(110, 179))]
    needs: list[Need] = []
    stock: dict[int, dict[int, int]] = {}
    for number, held in enumerate(random.sample(things, random.randint(6, 16))):
        aboard = sum(held.values())
        if making.bags[-1].carries:
            heavy = number % 3 == 0
        else:
            heavy = hands is not None and number < 2 and random.random() < 0.3
        many = min(random.randint(1, 2 if heavy else 4), aboard)
        needs.append(Need(f"N{number}", many, 180 if heavy else PICK, int(heavy)))
        for place, count in held.items():
            stock.setdefault(place, {})[number] = count
    statement = Statement(
        needs=tuple(needs),
        openings=tuple(making.openings),
        sources=tuple(
            Source(Place(name), stop, openings, stock[place], bags)
            for place, (name, ways, bags) in enumerate(making.places)
            if place in stock
            for stop, openings in ways
        ),
        bags=tuple(making.bags),
        walk_cs=walk,
        hands=hands,
    )
    return statement.in_units()


def _held(random: Random, making: Making) -> dict[int, int]:
    """How many of a thing are in which places; a third of all lie in bags."""
    in_bags = [n for n, (_, _, bags) in enumerate(making.places) if bags]
    loose = [n for n, (_, _, bags) in enumerate(making.places) if not bags]
    many = random.choices((1, 2, 3), (50, 32, 18))[0]
    found: dict[int, int] = {}
    while len(found) < many:
        place = random.choice(in_bags if random.random() < 1 / 3 else loose)
        found[place] = random.randint(1, 4)
    return found


def small_of(seed: int) -> Statement:
    """A small statement with any number of hands; in every other one there is a cot."""
    random = seeded(seed)
    return small(random, hands=random.choice([None, 1, 2]), has_cot=bool(seed % 2))


def small(random: Random, *, hands: int | None = 2, has_cot: bool = False) -> Statement:
    """Four stops, up to five places and a bag: few enough to list every choice.

    Each heavy thing has a place of its own, so a few draws are not; they are drawn again.
    """
    while True:
        made = _small(random, hands)
        made = _with_cot(random, made) if has_cot else made
        aboard = [made.there_is(number) for number in range(len(made.needs))]
        if all(aboard):
            needs = zip(made.needs, aboard, strict=True)
            heavy = 0.0 if hands is None else 0.6 if has_cot else 0.3
            asked = tuple(_small_need(random, need, count, heavy) for need, count in needs)
            found = replace(made, needs=asked).in_units()
            if choices_of(found) <= MOST_CHOICES:
                return found


def _small_need(random: Random, need: Need, aboard: int, heavy: float) -> Need:
    is_heavy = random.random() < heavy
    return replace(need, quantity=random.randint(1, min(aboard, 3)), hands=int(is_heavy))


def _small(random: Random, hands: int | None) -> Statement:
    points = [(random.uniform(0, 6), random.uniform(0, 6)) for _ in range(6)]
    if random.random() < 0.5:
        points[4] = points[5]
    cost = [[float(math.ceil(math.dist(a, b) * 100)) for b in points] for a in points]
    _shorten(cost)
    needs = [Need(f"N{n}", 1, random.randint(100, 200)) for n in range(random.randint(2, 3))]
    sources = [
        source
        for number in range(random.randint(3, 5))
        for source in _small_place(random, number, len(needs))
    ]
    return Statement(
        needs=tuple(needs),
        openings=tuple(Opening(f"O{n}", random.randint(0, 500)) for n in range(8)),
        sources=tuple(sources),
        bags=(Bag("B", random.randint(100, 400), (Way(3, (6,)),)),),
        walk_cs=tuple(tuple(int(each) for each in row) for row in cost),
        hands=hands,
    )


def _with_cot(random: Random, statement: Statement) -> Statement:
    """A cot at any of the stops, and now and then on it something that comes with it alone."""
    held = {random.randrange(len(statement.needs)): 1} if random.random() < 0.3 else {}
    way = Way(random.randrange(4), (random.choice((0, 7)),))
    cot = Bag("C", random.randint(0, 400), (way,), carries=True, holds=held)
    return replace(statement, bags=(*statement.bags, cot))


def _small_place(random: Random, number: int, needs: int) -> list[Source]:
    """One place, in the bag or loose, and then sometimes with two sides."""
    chain = (number, *([6] if random.random() < 0.3 else []))
    stock = {n: random.randint(1, 2) for n in range(needs) if random.random() < 0.6}
    stops = dict.fromkeys(random.randrange(4) for _ in range(2 if random.random() < 0.2 else 1))
    place = Place(f"P{number}")
    if not stock:
        return []
    if random.random() < 0.35:
        return [Source(place, 3, tuple(dict.fromkeys((6, 7, *chain))), stock, frozenset({0}))]
    return [Source(place, stop, chain, stock) for stop in stops]
