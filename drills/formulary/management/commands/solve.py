"""Work out one problem of dosing or supply math, read and printed as JSON."""

import json
import sys
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
        try:
            answer = told_solution(read_problem(read_json()).solve())
        except ProblemError as error:
            self.stdout.write(json.dumps({"error": str(error)}))
            sys.exit(NOT_UNDERSTOOD)
        self.stdout.write(json.dumps(answer, ensure_ascii=False))


def read_json() -> Any:
    """The JSON document on standard input; `ProblemError` for what is none."""
    text = sys.stdin.read()
    try:
        return json.loads(text, parse_float=_refuse_number, parse_constant=_refuse_number)
    except ValueError as error:
        raise ProblemError(
            f"standard input: it is no JSON that is understood ({error})."
        ) from error


def _refuse_number(text: str) -> Any:
    raise ValueError(f"{text} is a bare number; an amount is a text with its unit")
