"""What every run does: looks for a browser, says what was skipped, and after the house the sizes.

And the door of the commands that read JSON.
"""

import gc
import io
import json
import os
import shutil
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from django.core.management import call_command
from hypothesis.configuration import set_hypothesis_home_dir

from drills.people import unbroken
from tests.house import measure

BROWSERS = ("chromium", "chromium-browser", "google-chrome-stable")
NO_BROWSER = "no Chromium on PATH or in CHROMIUM"
DATABASE_ALONE = "--database-alone"
DATABASE = {"db", "transactional_db", "live_server", "django_db_setup"}
HOUSE = "tests/test_house.py"
WASTE = (
    100_000  # objects made from one look for waste to the next; Python's 700 suit small programs
)
ON_CI = os.environ.get("CI", "").lower() in {"1", "true"}

set_hypothesis_home_dir(measure.ROOT / ".cache" / "hypothesis")
# A slow machine is no fault of the code; on CI the same examples come each time.
hypothesis.settings.register_profile("house", deadline=None, derandomize=ON_CI)
hypothesis.settings.load_profile("house")


def find_chromium() -> str | None:
    """The browser that the CHROMIUM variable names, else the first one on the path."""
    named = os.environ.get("CHROMIUM", "")
    return shutil.which(named) if named else next(filter(None, map(shutil.which, BROWSERS)), None)


def pytest_configure(config: pytest.Config) -> None:
    """The people of the tests come with Django, which the test of this file runs without."""
    if config.pluginmanager.hasplugin("django"):
        config.pluginmanager.import_plugin("tests.cast")


def pytest_unconfigure() -> None:
    """The file by which one refit at a time is held stays beside a database of SQLite; that of the
    tests goes by itself."""
    for left in Path(tempfile.gettempdir()).glob(f"readiness-test-{os.getpid()}*-refit"):
        left.unlink(missing_ok=True)


@pytest.fixture(autouse=True)
def plain_spaces(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages are read with plain spaces; what keeps a number by its unit is held with `as_printed`.

    Every test that looks for an amount would else have to know where a page may break a line.
    """
    monkeypatch.setattr(unbroken, "NO_BREAK", " ")
    monkeypatch.setattr(unbroken, "JOINED", "")


@pytest.fixture
def as_printed(plain_spaces: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages with every space as it is sent out."""
    monkeypatch.setattr(unbroken, "NO_BREAK", "\u00a0")
    monkeypatch.setattr(unbroken, "JOINED", "\u2060")


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of the browser; only for tests marked `browser`, which are skipped without one."""
    found = find_chromium()
    assert found is not None, NO_BROWSER
    return found


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        DATABASE_ALONE,
        action="store_true",
        help="only the tests that use a database, and of each browser test one case",
    )


def _asked(item: pytest.Item) -> set[str]:
    return set(getattr(item, "fixturenames", ()))


def uses_database(item: pytest.Item) -> bool:
    """Whether a test may open a connection: pytest-django shuts the database to every other."""
    marks = {each.name for each in item.iter_markers()}
    asked = _asked(item)
    return bool(marks & {"browser", "django_db"} or asked & DATABASE)


def once_more(items: list[pytest.Item]) -> list[pytest.Item]:
    """What is run on a second database: all that may open a connection of its own.

    Of a browser test the first of its cases alone: they differ in the size and mood of a page, in
    its keys, in scripts or none and in what is drawn. What pages store has tests without a browser.
    Of tests that are shut from the database and go by what `made` read for their file, the first of
    each reading.
    """
    found = list(filter(uses_database, items))
    first = {_stands_for(item): item for item in reversed(found)}
    return [item for item in found if first[_stands_for(item)] is item]


def _stands_for(item: pytest.Item) -> str:
    """One text for all that are run once between them."""
    if item.get_closest_marker("browser"):
        return item.nodeid.partition("[")[0]
    asked = _asked(item)
    if item.get_closest_marker("django_db") or asked & (DATABASE - {"django_db_setup"}):
        return item.nodeid
    read = getattr(item, "callspec", None)
    return f"{item.path} {read.params.get('made') if read else None}"


def starts_programs(item: pytest.Item) -> bool:
    """Whether a test takes long, a browser or another pytest being slow to start.

    A worker takes a whole file, so these come first: the last of them would keep one alone.
    """
    return bool(
        item.get_closest_marker("browser") or "pytester" in getattr(item, "fixturenames", ())
    )


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption(DATABASE_ALONE):
        kept = once_more(items)
        left_out = set(items).difference(kept)
        config.hook.pytest_deselected(items=list(left_out))
        items[:] = kept
    items.sort(key=lambda item: not starts_programs(item))
    if find_chromium() is None:
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(pytest.mark.skip(reason=NO_BROWSER))


@pytest.hookimpl(trylast=True)
def pytest_collection_finish(session: pytest.Session) -> None:
    """What was imported and collected stays to the end, so nothing looks through it for waste.

    Tables are made for what is marked alone: so that `made` finds them in whatever is run, the
    first test that goes by it is.
    """
    reading = (each for each in session.items if "django_db_setup" in _asked(each))
    if first := next(reading, None):
        first.add_marker(pytest.mark.django_db)
    gc.collect()
    gc.freeze()
    gc.set_threshold(WASTE, 20, 100)


def _skips(config: pytest.Config) -> list[pytest.TestReport]:
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    return list(reporter.stats.get("skipped", [])) if reporter else []


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    if ON_CI and _skips(session.config) and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(trylast=True)
def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    passed = terminalreporter.stats.get("passed", [])
    if any(report.nodeid.startswith(HOUSE) for report in passed):
        for line in measure.summary():
            terminalreporter.write_line(line)
    for line in _told(terminalreporter):
        terminalreporter.write_line(line)
    terminalreporter.write_line(closing_line(_skips(config)))


def _told(reporter: pytest.TerminalReporter) -> list[str]:
    """What tests counted and recorded as `told`, for whoever reads the run."""
    passed: list[pytest.TestReport] = reporter.stats.get("passed", [])
    told = [pair for report in passed for pair in report.user_properties if pair[0] == "told"]
    return [str(line) for _, line in told]


def closing_line(skips: list[pytest.TestReport]) -> str:
    """What was skipped and why, in one line."""
    reasons = Counter(_reason(report) for report in skips)
    if not reasons:
        return "Skipped: nothing."
    each = "; ".join(f"{count} ({reason})" for reason, count in sorted(reasons.items()))
    return f"Skipped: {each}." + (" With CI set, a skip is a failure." if ON_CI else "")


def _reason(report: pytest.TestReport) -> str:
    where = report.longrepr
    return where[2].removeprefix("Skipped: ") if isinstance(where, tuple) else str(where)


@pytest.fixture
def door(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """What a command prints for a text on standard input, and the code that it ends with."""

    def ask(command: str, given: Any, *options: str) -> tuple[int, dict[str, Any]]:
        text = given if isinstance(given, str) else json.dumps(given)
        monkeypatch.setattr("sys.stdin", io.StringIO(text))
        code = 0
        try:
            call_command(command, *options)
        except SystemExit as end:
            code = int(str(end.code))
        answer: dict[str, Any] = json.loads(capsys.readouterr().out)
        return code, answer

    return ask
