"""What stands at the top level, and the texts of everything below it."""

import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.measure import ROOT

TOP = {
    *("README.md", "DEVELOPERS.md", "manage.py", "readiness", "drills", "templates", "tests"),
    *("fixtures", "pyproject.toml", "requirements", "Makefile", "LICENSE", "CHANGELOG.md"),
}
# Made by tools on each machine; never part of the house.
MADE = {".git", ".venv", ".cache", ".static", ".hypothesis", "__pycache__"}

OUTSIDE = re.compile(
    r"\.\./shared\b"
    r"|(?<![\w.])/(?:work|root|home/\w+|Users/\w+)/"
    r"|\bpypi\.org\b|\bpythonhosted\.org\b|\bregistry\.npmjs\b"
)


def top_level() -> list[str]:
    """Names at the top level, without dot-files and without databases made on this machine."""
    names = sorted(path.name for path in ROOT.iterdir())
    return [n for n in names if not n.startswith(".") and n not in MADE and ".sqlite3" not in n]


def texts() -> Iterator[tuple[Path, str]]:
    """Path and text of every file of the house; what is no text is left out."""
    for path in sorted(_files(ROOT)):
        try:
            yield path.relative_to(ROOT), path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


def _files(folder: Path) -> Iterator[Path]:
    for path in folder.iterdir():
        if path.name in MADE or ".sqlite3" in path.name or path.is_symlink():
            continue
        if path.is_dir():
            yield from _files(path)
        else:
            yield path
