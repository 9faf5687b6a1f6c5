"""Shows what a roster file would change: who comes, who changes, who leaves. Stores it if asked."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.boards.roster.planning import Choices, Plan, Planned, plan_roster
from drills.boards.roster.taking import NotTakenError, take_roster


class Command(BaseCommand):
    """Every problem goes to standard error, one a line; then nothing is stored."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="a CSV file with a row for each person")
        parser.add_argument("--commit", action="store_true", help="store what it changes")
        parser.add_argument(
            "--leavers", action="store_true", help="people who are not in the file leave"
        )
        parser.add_argument(
            "--new", action="store_true", help="add stations and cohorts that are not here yet"
        )

    def handle(
        self, *, file: Path, commit: bool, leavers: bool, new: bool, **options: object
    ) -> None:
        try:
            data = file.read_bytes()
        except OSError as error:
            raise CommandError(f"{file} cannot be read: {error.strerror}.") from error
        choices, now = Choices(leavers=leavers, adds_new=new), timezone.now()
        plan = plan_roster(data, choices=choices, by=None, now=now)
        self._tell(plan)
        if commit:
            try:
                take_roster(data, choices=choices, seen=plan.fingerprint, by=None, now=now)
            except NotTakenError as error:
                raise CommandError("Somebody changed who is here meanwhile; try again.") from error
        self.stdout.write("Stored." if commit else "Nothing is stored; --commit stores it.")

    def _tell(self, plan: Plan) -> None:
        for remark in plan.remarks:
            self.stderr.write(str(remark))
        if plan.problems:
            raise CommandError("\n".join(str(problem) for problem in plan.problems))
        for line in _lines(plan):
            self.stdout.write(line)
        self.stdout.write(
            f"{len(plan.added)} added, {len(plan.changed)} changed, {len(plan.leavers)} leave, "
            f"{plan.unchanged} unchanged."
        )


def _lines(plan: Plan) -> list[str]:
    return [
        *(f"new station: {name}" for name in plan.stations.values()),
        *(f"new cohort: {name}" for name in plan.cohorts.values()),
        *(f"leaves: {each.number} {each.becomes.name}" for each in plan.leavers),
        *(f"added: {each.number} {_said(each)}" for each in plan.added),
        *(f"changed: {each.number} {each.becomes.name}; {_said(each)}" for each in plan.changed),
    ]


def _said(each: Planned) -> str:
    if each.was is None:
        return "; ".join(f"{one.what} {one.after}" for one in each.differences)
    return "; ".join(f"{one.what}: {one.before} -> {one.after}" for one in each.differences)
