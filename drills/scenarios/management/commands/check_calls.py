"""Says which call types a layout cannot serve, and what is missing aboard."""

import json
import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from drills.engine.coverage import Coverage, Lack
from drills.rigs.models import Layout
from drills.scenarios.coverage import rigged
from drills.scenarios.kept import need_names
from drills.scenarios.models import CallType
from drills.scenarios.reading import call_type_of, call_world

MUST_MISSING = 1


class Command(BaseCommand):
    """Exit 1 where too few of a must-have are aboard for any call type at the most patients."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("layout", metavar="LAYOUT", help="a published layout by its slug")
        parser.add_argument("--json", action="store_true", help="print one JSON document")

    def handle(self, *, layout: str, **options: Any) -> None:
        found = _coverages(layout)
        if options["json"]:
            self.stdout.write(json.dumps([_told(each) for each in found], indent=2))
        else:
            self._print(layout, found)
        if any(each.musts for each in found):
            sys.exit(MUST_MISSING)

    def _print(self, layout: str, found: list[Coverage]) -> None:
        for each in found:
            enough = f", enough for {each.enough_for} of {each.most}" if each.enough_for else ""
            self.stdout.write(f"{each.call_type}: {each.state}{enough}")
            for lack in each.lacks:
                self.stdout.write(f"  {_line(lack)}")
        served = sum(not each.musts for each in found)
        self.stdout.write(f"{layout} has every must-have of {served} of {len(found)} call types.")


def _coverages(slug: str) -> list[Coverage]:
    layout = Layout.objects.filter(slug=slug).first()
    revision = layout.published if layout else None
    if revision is None:
        known = ", ".join(each.slug for each in Layout.objects.all() if each.published) or "none"
        raise CommandError(f"{slug!r} is no published layout; there are: {known}.", returncode=2)
    (rig,) = rigged([revision])
    world, names = call_world(), need_names()
    rows = CallType.objects.filter(retired_on=None).order_by("slug")
    return [rig.coverage(call_type_of(each, names), world) for each in rows]


def _line(lack: Lack) -> str:
    waits = f"; waits for its tie: {', '.join(lack.waiting)}" if lack.waiting else ""
    brought = "; comes with the rig that transports" if lack.is_brought else ""
    return f"{lack.grade}: {lack.name}, {lack.aboard} of {lack.asked}{waits}{brought}"


def _told(of: Coverage) -> dict[str, Any]:
    lacks = [
        {
            "need": each.need,
            "grade": each.grade,
            "asked": each.asked,
            "aboard": each.aboard,
            "waiting": list(each.waiting),
            "is_brought": each.is_brought,
        }
        for each in of.lacks
    ]
    told = {"call_type": of.call_type, "state": of.state, "enough_for": of.enough_for}
    return told | {"most": of.most, "lacks": lacks}
