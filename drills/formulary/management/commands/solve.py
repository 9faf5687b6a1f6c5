"""Work out one problem of dosing or supply math, read and printed as JSON."""

import json
import sys
from collections.abc import Callable
from typing import Any

from django.core.management.base import BaseCommand

from drills.engine.dosing import ProblemError
from drills.engine.dosing.reading import read_problem, told_solution

NOT_UNDERSTOOD = 2


class Command(BaseCommand):
    """Reads a problem from standard input and prints its answer; no database is touched.

    What may not be drawn up as asked is worked out all the same, with the reason beside it; what
    cannot be understood ends with code 2 and names the field.
    """

    help = "Work out one problem of dosing or supply math: JSON in, JSON out."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        """Answer the problem on standard input."""
        answer(self, lambda given: told_solution(read_problem(given).solve()))


def answer(command: BaseCommand, told: Callable[[Any], dict[str, Any]]) -> None:
    """Print what is told of the JSON on standard input; of what is not understood, the reason."""
    try:
        line = told(_read_json())
    except ProblemError as error:
        command.stdout.write(json.dumps({"error": str(error)}))
        sys.exit(NOT_UNDERSTOOD)
    command.stdout.write(json.dumps(line))


def _read_json() -> Any:
    """The JSON document on standard input; `ProblemError` for what is none."""
    try:
        return json.loads(sys.stdin.read().lstrip("\ufeff"), object_pairs_hook=_each_once)
    except ProblemError:
        raise
    except (ValueError, RecursionError) as error:
        raise ProblemError(
            f"standard input: it is no JSON that is understood ({error})."
        ) from error


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object; of a field told twice nobody knows which is meant."""
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = next(name for name in found if sum(name == each for each, _ in pairs) > 1)
        raise ProblemError(f"{twice}: it came in twice.")
    return found
