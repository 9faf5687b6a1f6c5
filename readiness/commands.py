"""Runs a command, and says in one sentence when the database is what keeps it from its work."""

import sys
from collections.abc import Sequence

from django.core.management import execute_from_command_line
from django.db import DatabaseError

from drills.people.tables import fault

# No command says of what it found that it is so: check_calls ends with 1 where a must-have lacks.
NO_DATABASE = 2
# It makes the tables, so that they are not there says nothing of what it stumbled over.
MAKES_TABLES = "migrate"


def run(arguments: Sequence[str]) -> None:
    """Run the command of these arguments, the first of which is the program.

    A fault that is not that of a database out of reach or of another release is raised as it is,
    as is any with --traceback.
    """
    try:
        execute_from_command_line(list(arguments))
    except DatabaseError:
        is_asked_for = "--traceback" in arguments or MAKES_TABLES in arguments[1:2]
        words = "" if is_asked_for else fault()
        if not words:
            raise
        sys.stderr.write(f"{words}\n")
        sys.exit(NO_DATABASE)
