"""Simulate a cohort, and print what would have been kept of its drills as CSV."""

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from drills.engine.simulated import (
    SCENARIOS,
    ScenarioError,
    scenario_of,
    simulate_crews,
    write_csv,
    write_truth,
)
from drills.engine.simulated.scenario import LAWS

START = "2025-01-01"


class Command(BaseCommand):
    """Prints rows that predict_log reads; no database is touched, and nobody in them exists."""

    help = (
        "Print the answers of a simulated cohort as CSV, in order of time. All of it is simulated: "
        "nothing was measured on a person."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """The scenario, what is changed of it, the seed, and where the truth goes."""
        parser.add_argument("--scenario", choices=SCENARIOS, default="steady")
        parser.add_argument("--law", choices=LAWS, help="people forget by traces (A) or curve (F)")
        for name, words in (
            ("people", "how many people"),
            ("items", "how many things they are asked for, bags not counted"),
            ("days", "how many days they drill"),
        ):
            parser.add_argument(f"--{name}", type=int, help=words)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument(
            "--start", type=_day, default=START, help="the first day, as 2025-01-31"
        )
        parser.add_argument(
            "--truth", type=Path, metavar="FILE", help="write the true chance of each row here"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the rows."""
        named = {name: options[name] for name in ("law", "people", "items", "days")}
        try:
            scenario = scenario_of(options["scenario"], **named)
        except ScenarioError as error:
            raise CommandError(str(error), returncode=2) from error
        found = simulate_crews(scenario, seed=options["seed"])
        if options["truth"]:
            with options["truth"].open("w", encoding="utf-8", newline="") as file:
                write_truth(found.log, found.chance, file, start=options["start"])
        write_csv(found.log, self.stdout, start=options["start"])


def _day(text: str) -> datetime:
    try:
        return datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text!r} is no day such as {START}.") from error
