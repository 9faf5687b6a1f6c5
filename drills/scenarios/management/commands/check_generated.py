"""Calls made by the thousand, and what is odd in them: told as one JSON document."""

import json
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.engine.arriving.checking import odd_in
from drills.engine.arriving.crews import crew_of, told_to
from drills.engine.callmaking import Material
from drills.engine.calls import Asked, Call
from drills.engine.chance import seeded
from drills.engine.dispatch import make_call
from drills.engine.incidents import make_incident
from drills.engine.incidents.asking import turns_of
from drills.engine.layout import Layout as Arranged
from drills.engine.oddities import contradictions_of, oddities_of, unaccounted
from drills.engine.wanted import Wanted, want
from drills.rigs.models import Layout, Revision
from drills.rigs.reading import layout_of
from drills.scenarios.reading import material_of

MOST_CALLS, MOST_TOLD = 20_000, 200
# From so many patients on a call type is drawn as one to be sorted as well.
SORTED_FROM = 3


class Command(BaseCommand):
    help = (
        "Make calls of every type on a layout and list what is odd in them: signs that no body of "
        "the age has, text with a fault, needs that are neither aboard nor told to be short, "
        "categories that the chart denies, questions of arriving with no right answer. JSON on "
        "standard output; status 1 where anything is."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("layout", metavar="LAYOUT", help="slug of a published layout")
        parser.add_argument("--calls", type=int, default=1000)

    def handle(self, *args: Any, **options: Any) -> None:
        if not 1 <= options["calls"] <= MOST_CALLS:
            raise CommandError(
                f"--calls {options['calls']}; 1 to {MOST_CALLS} is accepted.", returncode=2
            )
        revision = _published(options["layout"])
        material = material_of(revision, now=timezone.now(), is_assessed=False)
        found: list[dict[str, Any]] = []
        short: Counter[str] = Counter()
        patients = 0
        layout = layout_of(revision)
        for number, call, faults in _made(material, options["calls"]):
            wanted = want(layout, material.ties, call.needs, (), material.holds)
            short.update(each.name or each.need for each in wanted if each.short)
            patients += len(call.patients)
            odd = (*oddities_of(call, material.world.bands), *unaccounted(call.needs, wanted))
            odd = (*odd, *_of_arriving(layout, material, call, number))
            found += _told(call.call_type, number, (*odd, *faults))
        document = {
            "layout": layout.slug,
            "revision": revision.number,
            "calls": options["calls"],
            "patients": patients,
            "odd": len(found),
            "oddities": found[:MOST_TOLD],
            "told_short": dict(sorted(short.items())),
        }
        self.stdout.write(json.dumps(document, indent=1, ensure_ascii=False))
        if found:
            raise SystemExit(1)


def _of_arriving(layout: Arranged, material: Material, call: Call, number: int) -> Iterator[str]:
    """What is odd in the questions of arriving at a call, every second one as the second crew."""
    arrival = material.arrival(layout, (), 1 + number % 5)
    crew = crew_of(
        call,
        material.sorting.threshold,
        is_second=number % 2 == 1,
        is_told=True,
        turns=turns_of(call),
    )
    random = seeded(f"check arriving:{number}")

    def wants(asked: Iterable[Asked]) -> tuple[Wanted, ...]:
        return want(layout, material.ties, asked, (), material.holds)

    for each in arrival.asked(told_to(call, crew), crew, wants, random):
        if each.choosing:
            yield from odd_in(each.choosing, each.name, each.text)


def _told(call_type: str, seed: int, odd: Iterable[str]) -> list[dict[str, Any]]:
    return [{"call_type": call_type, "seed": seed, "says": words} for words in odd]


def _published(slug: str) -> Revision:
    published = {each.slug: each.published for each in Layout.objects.all() if each.published}
    revision = published.get(slug)
    if revision is None:
        known = ", ".join(published) or "none"
        raise CommandError(f"No published layout {slug!r}; there are: {known}.", returncode=2)
    return revision


def _made(material: Material, many: int) -> Iterator[tuple[int, Call, tuple[str, ...]]]:
    """Calls of every type in turn, every second one of many patients with theirs to be sorted."""
    types = material.call_types
    for number in range(many):
        call_type = types[number % len(types)]
        turn = number // len(types)
        if turn % 2 and call_type.most >= SORTED_FROM:
            incident = make_incident(
                call_type,
                material.world,
                seed=f"check:{number}",
                count=max(call_type.least, SORTED_FROM),
                sorting=material.sorting,
                level=1 + turn % 5,
            )
            yield number, incident.call, contradictions_of(incident)
        else:
            random = seeded(f"check:{number}")
            yield number, make_call(call_type, material.world, random), ()
