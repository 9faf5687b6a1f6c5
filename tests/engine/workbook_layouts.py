"""Any layout that reading a workbook could give, drawn at random; every column is used."""

import string
from dataclasses import replace
from datetime import date
from decimal import Decimal

from hypothesis import strategies as st

from drills.engine.layout import (
    CARRIED,
    CATEGORIES,
    CLOSURES,
    FACES,
    HEIGHTS,
    OPENS,
    POINT_KINDS,
    Compartment,
    Layout,
    Point,
    Rect,
    StockLine,
    item_key,
)
from drills.engine.workbook.cells import UNWANTED, tidy

HOSTILE = ("=1+1", "+1", "-1", "@a", "'=x", "''@", "'tis", '"', "a,b", "_x0041_", "\uff1d1", "#N/A")


def texts(most=40, *, least=0, without=""):
    """Text as reading leaves it: spaces evened out, no control characters."""
    anything = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=most)
    either = st.one_of(anything, st.sampled_from(HOSTILE), st.text(string.printable, max_size=most))
    return either.map(tidy).filter(
        lambda text: (
            least <= len(text) <= most
            and not UNWANTED.search(text)
            and not set(text) & set(without)
        )
    )


def notes():
    return st.lists(texts(), max_size=3).map(lambda lines: "\n".join(lines).strip("\n"))


def decimals(most):
    return st.integers(1, most * 1000).map(lambda number: Decimal(number) / 1000)


def some(values):
    return st.one_of(st.just(""), st.sampled_from(values))


codes = st.text(string.ascii_letters + string.digits + "-._", min_size=1, max_size=8).filter(
    lambda code: code.lower() not in FACES and any(sign.isalnum() for sign in code)
)


@st.composite
def compartments(draw, seats):
    """Compartments in slots of their own, so that no rectangles meet."""
    names = draw(st.lists(codes, min_size=1, max_size=8, unique_by=str.lower))
    made = []
    for slot, code in enumerate(names):
        inside = draw(some(names[:slot])) if slot else ""
        top = not inside
        rect = Rect(slot * 3, draw(st.integers(0, 5)), draw(st.integers(1, 3)), 6)
        sized = top or draw(st.booleans())
        also_face = draw(some(FACES))
        made.append(
            Compartment(
                code=code,
                name=draw(texts(least=1)),
                inside=inside,
                face=draw(st.sampled_from(FACES)) if top else draw(some(FACES)),
                rect=rect if sized else None,
                also_face=also_face,
                also_rect=rect if also_face and sized else None,
                opens=draw(st.sampled_from(OPENS)),
                closure=draw(st.sampled_from(CLOSURES)),
                carried=draw(st.sampled_from(CARRIED)),
                locked=draw(st.booleans()),
                sealed=draw(st.booleans()),
                reach_from=tuple(
                    draw(st.lists(st.sampled_from(seats), unique=True)) if seats else ()
                ),
                height=draw(some(HEIGHTS)),
                place=draw(st.sampled_from(["", f"stable-key-{slot}"])),
                notes=draw(notes()),
            )
        )
    return tuple(made)


@st.composite
def stock(draw, places):
    """Items, each described once, in one or several compartments."""
    items = draw(st.lists(texts(least=1), max_size=6, unique_by=item_key))
    own = texts(30).filter(lambda text: text.lower() not in CATEGORIES)
    lines = []
    for item in items:
        described = StockLine(
            compartment="",
            item=item,
            par=1,
            unit=draw(texts(20)),
            category=draw(st.one_of(st.sampled_from(CATEGORIES), own)),
            aliases=tuple(
                draw(st.lists(texts(20, least=1, without=";"), max_size=3, unique_by=str.casefold))
            ),
            presentation=draw(some(["10 mg / 2 mL", "0.4 mg tablet", "1000 mL bag"])),
            weight_kg=draw(st.none() | decimals(500)),
            need=draw(some(["pry-bar", "naloxone"])),
        )
        for place in draw(st.lists(st.sampled_from(places), min_size=1, max_size=2, unique=True)):
            lines.append(
                replace(
                    described,
                    compartment=place,
                    par=draw(st.integers(1, 9_999)),
                    critical=draw(st.booleans()),
                    expires=draw(st.none() | st.dates(date(2000, 1, 1), date(2199, 12, 31))),
                    notes=draw(notes()),
                )
            )
    return tuple(lines)


@st.composite
def readable_layouts(draw):
    """Any layout that reading could give."""
    named = draw(st.lists(codes, max_size=4, unique_by=str.lower))
    kinds = [draw(st.sampled_from(POINT_KINDS)) for _ in named]
    seats = [code for code, kind in zip(named, kinds, strict=True) if kind == "seat"]
    made = draw(compartments(seats))
    served = [*FACES, *(each.code for each in made)]
    points = [
        Point(
            code=code,
            kind=kind,
            name=draw(texts(least=1)),
            face=draw(st.sampled_from(FACES)),
            x=float(draw(decimals(24))),
            y=float(draw(decimals(12))),
            serves=tuple(draw(st.lists(st.sampled_from(served), max_size=3, unique=True))),
        )
        for code, kind in zip(named, kinds, strict=True)
    ]
    return Layout(
        name=draw(texts(least=1)),
        slug=draw(st.from_regex(r"[a-z]{1,9}(-[a-z0-9]{1,9})?", fullmatch=True)) + "-x",
        body=draw(texts()),
        length_m=draw(st.none() | decimals(30)),
        width_m=draw(st.none() | decimals(30)),
        height_m=draw(st.none() | decimals(30)),
        notes=draw(notes()),
        compartments=made,
        stock=draw(stock([each.code for each in made])),
        points=tuple(points),
    )
