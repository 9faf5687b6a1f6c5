"""Simulate a cohort, and print what would have been kept of its drills as CSV."""

import argparse
from contextlib import nullcontext
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from drills.engine.knowing.logs import FIRST_DATE, LAST
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
        start, seed, path = options["start"], options["seed"], options["truth"]
        try:
            scenario = scenario_of(options["scenario"], **named)
        except ScenarioError as error:
            raise _refused(str(error)) from error
        if seed < 0:
            raise _refused(f"seed: {seed} came in; a whole number of at least 0 would be accepted.")
        last = LAST - timedelta(days=scenario.days)
        if not FIRST_DATE <= start <= last:
            raise _refused(
                f"start: {start.date()} came in; a day from {FIRST_DATE.date()} to {last.date()} "
                f"would be accepted, with {scenario.days} days."
            )
        try:
            # Opened first, so that nobody waits for what cannot be written.
            with path.open("w", encoding="utf-8", newline="") if path else nullcontext() as file:
                found = simulate_crews(scenario, seed=seed)
                if file:
                    write_truth(found.log, found.chance, file, start=start)
        except OSError as error:
            raise _refused(
                f"truth: {path} came in; a file that can be written would be accepted "
                f"({error.strerror})."
            ) from error
        write_csv(found.log, self.stdout, start=start)


def _refused(words: str) -> CommandError:
    return CommandError(words, returncode=2)


def _day(text: str) -> datetime:
    try:
        return datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text!r} is no day such as {START}.") from error
