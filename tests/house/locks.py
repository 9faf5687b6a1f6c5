"""Whether the locked requirements are in step with pyproject.toml; asks no network."""

import ast
import re
import sys
import tomllib
from dataclasses import dataclass
from importlib.metadata import packages_distributions

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.house import measure

LOCKS = ("run", "demo", "dev")
PIN = re.compile(r"^([A-Za-z0-9._-]+)(?:\[[^\]]+\])?==(\S+)")
DIRECT = "readiness (pyproject.toml"
ENTRY = re.compile(r'^\s*"([A-Za-z0-9._-]+)[^"]*",[ \t]*(?:# *(.*))?$', re.MULTILINE)
# What no line of ours imports, and who uses it instead.
NOT_IMPORTED = {
    "defusedxml": "openpyxl, when it reads XML",
    "django-stubs": "mypy",
    "gunicorn": "whoever serves the site, as a command",
    "import-linter": "make check",
    "mypy": "make check",
    "openpyxl-stubs": "mypy",
    "psycopg": "Django, when the database is a PostgreSQL",
    "pysqlite3": "readiness.sqlite, by its name, where there is one",
    "pytest-cov": "make test",
    "pytest-xdist": "make test",
    "ruff": "make check",
    "tzdata": "zoneinfo",
}


@dataclass(frozen=True, slots=True)
class Pin:
    """One locked package; `direct` when pyproject.toml asks for it by name."""

    version: str
    hashes: int
    direct: bool


def pins(lock: str) -> dict[str, Pin]:
    """The pins of a lock by package name."""
    text = (measure.ROOT / "requirements" / f"{lock}.txt").read_text(encoding="utf-8")
    blocks = [block for block in re.split(r"\n(?=[A-Za-z0-9])", text) if PIN.match(block)]
    return dict(_pin(block) for block in blocks)


def _pin(block: str) -> tuple[str, Pin]:
    found = PIN.match(block)
    assert found is not None
    return canonicalize_name(found[1]), Pin(found[2], block.count("--hash="), DIRECT in block)


def wanted() -> dict[str, dict[str, Requirement]]:
    """What pyproject.toml asks for by name, for each lock; each includes the one before."""
    text = (measure.ROOT / "pyproject.toml").read_text(encoding="utf-8")
    project = tomllib.loads(text)
    groups = project["dependency-groups"]
    run = [Requirement(line) for line in project["project"]["dependencies"]]
    demo = [*run, *map(Requirement, groups["demo"])]
    dev = [*demo, *map(Requirement, groups["dev"])]
    each = zip(LOCKS, (run, demo, dev), strict=True)
    return {lock: {canonicalize_name(r.name): r for r in found} for lock, found in each}


def reasons() -> dict[str, str]:
    """The comment behind each package that pyproject.toml asks for by name."""
    text = (measure.ROOT / "pyproject.toml").read_text(encoding="utf-8")
    asked = text[text.index("dependencies = [") : text.index("[tool.")]
    return {canonicalize_name(name): reason for name, reason in ENTRY.findall(asked)}


def used() -> set[str]:
    """The packages that some line of ours imports, or that the settings name for Django to."""
    files = [*measure.files_of(*measure.CODE), *measure.files_of("tests")]
    modules = {name for file in files for name in _imported(file)}
    packages = packages_distributions()
    return {canonicalize_name(each) for name in modules for each in packages.get(name, [])}


def _imported(file: measure.Measured) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(file.tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add(node.module or "")
        elif isinstance(node, ast.Constant) and file.path == "readiness/settings.py":
            names.add(str(node.value))
    return {name.partition(".")[0] for name in names}


def faults() -> list[str]:
    """One line for each place where lock and wish part."""
    return [fault for lock in LOCKS for fault in lock_faults(lock, pins(lock), wanted()[lock])]


def lock_faults(lock: str, locked: dict[str, Pin], asked: dict[str, Requirement]) -> list[str]:
    direct = {name for name, pin in locked.items() if pin.direct}
    return [
        *(f"{lock}.txt: {name} is not in it" for name in asked.keys() - locked.keys()),
        *(f"{lock}.txt: {name} is asked for no more" for name in direct - asked.keys()),
        *(f"{lock}.txt: {name} is not known as asked for" for name in asked.keys() - direct),
        *(
            f"{lock}.txt: {name} {locked[name].version} is not {asked[name].specifier}"
            for name in asked.keys() & locked.keys()
            if locked[name].version not in asked[name].specifier
        ),
        *(f"{lock}.txt: {name} has no hash" for name, pin in locked.items() if not pin.hashes),
    ]


if __name__ == "__main__":
    found = faults()
    print("\n".join([*found, "Run `make lock`."]) if found else "Requirements: in step.")
    sys.exit(1 if found else 0)
