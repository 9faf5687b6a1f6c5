"""The examples of the manual's chapters on doses: what goes in, and what stands below it.

`python -m tests.formulary.chapter` writes what comes out now below each; look at what changed.
"""

import io
import json
import os
import re
import sys
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any
from unittest import mock

import django
from django.core.management import call_command

from drills.boards.guide import FOLDER

CHAPTERS = ("dosing", "dosing-programs", "dosing-figures")
_EXAMPLE = re.compile(
    r"```json\n(?P<given>.*?)\n```\n(?:\ngives\n\n```json\n(?P<printed>.*?)\n```\n)?", re.DOTALL
)


def file_of(chapter: str) -> Path:
    return FOLDER / f"{chapter}.md"


def text() -> str:
    """The chapters as they lie in the sources, one after the other."""
    return "\n".join(file_of(each).read_text(encoding="utf-8") for each in CHAPTERS)


def examples() -> list[tuple[str, str]]:
    """What goes in, with what stands below it, in order."""
    return [(each["given"], each["printed"] or "{}") for each in _EXAMPLE.finditer(text())]


def door_of(given: Any) -> str:
    """The command that reads such a thing."""
    return "judge" if "problem" in given else "solve"


def comes_out(given: str) -> Any:
    """What the command prints of it."""
    out = io.StringIO()
    # What is not understood ends with a code of its own, and prints why all the same.
    with mock.patch.object(sys, "stdin", io.StringIO(given)), suppress(SystemExit):
        call_command(door_of(json.loads(given)), stdout=out)
    return json.loads(out.getvalue())


def laid_out(told: dict[str, Any]) -> str:
    """JSON with a line for each figure and each line of the working."""
    lines = ",\n".join(f"  {json.dumps(name)}: {_laid_out(value)}" for name, value in told.items())
    return f"{{\n{lines}\n}}"


def _laid_out(value: Any) -> str:
    if isinstance(value, dict) and value:
        inner = [f"{json.dumps(name)}: {json.dumps(each)}" for name, each in value.items()]
        return f"{{{_lines(inner)}}}"
    if isinstance(value, list) and value:
        return f"[{_lines(map(json.dumps, value))}]"
    return json.dumps(value)


def _lines(inner: Iterable[str]) -> str:
    return "\n    " + ",\n    ".join(inner) + "\n  "


def written_anew(told: str) -> str:
    """A chapter with what comes out now."""

    def anew(each: re.Match[str]) -> str:
        out = laid_out(comes_out(each["given"]))
        return f"```json\n{each['given']}\n```\n\ngives\n\n```json\n{out}\n```\n"

    return _EXAMPLE.sub(anew, told)


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    for path in map(file_of, CHAPTERS):
        path.write_text(written_anew(path.read_text(encoding="utf-8")), encoding="utf-8")
