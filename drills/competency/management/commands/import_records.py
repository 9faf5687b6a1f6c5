"""Takes in past records from a CSV file as evidence, all of them or none; prints what it stored."""

import json
from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.competency.alone import UnderWayError
from drills.competency.past.planning import Plan, plan_records
from drills.competency.past.taking import NotTakenError, take_records


class Command(BaseCommand):
    """Every problem goes to standard error, one a line; then nothing is stored."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="a CSV file with a row for each past record")
        parser.add_argument("--dry-run", action="store_true", help="look only, and store nothing")

    def handle(self, *, file: Path, dry_run: bool, **options: object) -> None:
        try:
            data = file.read_bytes()
        except OSError as error:
            raise CommandError(f"{file} cannot be read: {error.strerror}.") from error
        now = timezone.now()
        try:
            if dry_run:
                plan = plan_records(data, by=None, now=now)
            else:
                plan = take_records(data, seen=None, by=None, now=now, name=file.name)
        except NotTakenError as refused:
            plan = refused.plan
        except UnderWayError as error:
            raise CommandError(f"{error.in_full} Nothing is stored; try again after it.") from error
        for remark in plan.remarks:
            self.stderr.write(str(remark))
        if plan.problems:
            raise CommandError("\n".join(map(str, (*plan.problems, "Nothing is stored."))))
        self.stdout.write(json.dumps(_told(plan, is_stored=not dry_run), ensure_ascii=False))


def _told(plan: Plan, *, is_stored: bool) -> dict[str, object]:
    first, last = plan.days or (None, None)
    return {
        "stored": is_stored,
        "records": len(plan.records),
        "here already": plan.known,
        "people": len(plan.of_people),
        "revisions": dict(plan.by_revision),
        "modalities": dict(plan.by_modality),
        "with a time": plan.timed,
        "from": first.isoformat() if first else None,
        "until": last.isoformat() if last else None,
    }
