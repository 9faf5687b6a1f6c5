"""The house keeps its shape: sizes, directions, templates, addresses, requirements, top level."""

import re
from collections.abc import Iterable
from io import StringIO
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import models
from django.test.utils import isolate_apps

from tests.conftest import DATABASE_ALONE, closing_line
from tests.house import locks, measure, templates
from tests.house.measure import bare_exemptions, measured, over
from tests.house.rooms import ROOMS, TABLELESS, addresses, drawn_beside, misplaced_keys, view_name
from tests.house.top import OUTSIDE, TOP, texts, top_level

pytest_plugins = ["pytester"]

LONGEST_FILE = 400
LONGEST_FUNCTION = 50
MOST_BRANCHES = 8
LONGEST_TEMPLATE = 150
MOST_REQUIREMENTS = 24

CODE = measure.files_of(*measure.CODE)
ENGINE = measure.files_of("drills/engine")


class TestSizes:
    def test_no_file_is_too_long(self) -> None:
        none_of([f"{f.path}: {f.lines} lines" for f in CODE if f.lines > LONGEST_FILE])

    def test_no_function_is_too_long(self) -> None:
        none_of(over(CODE, measure.length, LONGEST_FUNCTION))

    def test_no_function_branches_too_often(self) -> None:
        none_of(over(CODE, measure.branches, MOST_BRANCHES))

    def test_no_template_is_too_long(self) -> None:
        found = [(path, len(text.splitlines())) for path, text in measure.templates()]

        none_of(f"{path}: {lines} lines" for path, lines in found if lines > LONGEST_TEMPLATE)

    def test_length_is_counted_from_def_to_the_last_line(self) -> None:
        file = measured("@cache\ndef one(\n    a,\n):\n    '''Says.'''\n\n    return a\n")

        assert [measure.length(each) for each in file.functions] == [6]
        assert over([file], measure.length, 5) == ["drills/example.py:2 one: 6"]

    @pytest.mark.parametrize(
        ("body", "branches"),
        [
            ("return 1", 1),
            ("if a:\n  return 1\n elif b:\n  return 2", 3),
            ("return a and b and c", 3),
            ("return a if b else c", 2),
            ("while a:\n  pass", 2),
            ("for a in b:\n  pass", 2),
            ("try:\n  a()\n except B:\n  pass\n except C:\n  pass", 3),
            ("return [a for b in c for a in b]", 3),
            ("match a:\n  case 1:\n   pass\n  case _:\n   pass", 3),
            ("def inner():\n  if a:\n   pass\n return inner", 1),
        ],
    )
    def test_branches_are_counted(self, body: str, branches: int) -> None:
        (function, *_) = measured(f"def one():\n {body}\n").functions

        assert branches == measure.branches(function)

    def test_the_summary_has_a_figure_in_each_line(self) -> None:
        assert all(re.search(r"\d", line) for line in measure.summary()[1:])

    def test_a_spread_is_median_nine_tenths_and_greatest(self) -> None:
        assert measure.spread(range(1, 12)) == "6 / 10 / 11"
        assert measure.spread([]) == "none"

    def test_comments_are_counted_by_line(self) -> None:
        file = measured('"""Two\nlines."""\n\na = 1  # why\n# reason\nb = 2\n')

        assert measure.comment_share([file]) == pytest.approx(40)


class TestCode:
    def test_no_import_hides_in_a_function(self) -> None:
        none_of([where for file in CODE for where in measure.hidden_imports(file)])

    def test_every_argument_and_return_is_annotated(self) -> None:
        none_of([where for file in CODE for where in measure.unannotated(file)])

    def test_every_public_name_of_the_engine_is_documented(self) -> None:
        none_of([where for file in ENGINE for where in measure.undocumented(file)])

    def test_every_exemption_carries_its_reason(self) -> None:
        everywhere = [*CODE, *measure.files_of("tests")]

        none_of([where for file in everywhere for where in bare_exemptions(file)])

    @pytest.mark.parametrize(
        ("path", "expected"),
        [
            ("drills/runs/actions.py", ["drills/runs/actions.py:1 ready"]),
            ("drills/runs/apps.py", []),
            ("drills/runs/management/commands/play.py", []),
        ],
    )
    def test_a_hidden_import_is_seen(self, path: str, expected: list[str]) -> None:
        assert expected == measure.hidden_imports(measured("def ready(): import os\n", path))

    @pytest.mark.parametrize(
        ("signature", "told"),
        [
            ("(self) -> None", True),
            ("(self)", False),
            ("(a: int, *b: int, **c: int) -> None", True),
            ("(a: int, *b) -> None", False),
            ("(*, a) -> None", False),
        ],
    )
    def test_a_missing_annotation_is_seen(self, signature: str, told: bool) -> None:
        file = measured(f"def one{signature}: ...\n")

        assert told == (measure.unannotated(file) == [])

    def test_an_undocumented_public_name_is_seen(self) -> None:
        file = measured("def one(): ...\nclass Two: ...\ndef _three(): ...\n")

        found = ["drills/example.py", "drills/example.py:1 one", "drills/example.py:2 Two"]
        assert found == measure.undocumented(file)

    @pytest.mark.parametrize("mark", ["noqa: S311", "type: ignore[misc]", "pragma: no cover"])
    def test_an_exemption_without_reason_is_seen(self, mark: str) -> None:
        assert bare_exemptions(measured(f"a = 1  # {mark}\n")) == ["drills/example.py:1"]
        assert bare_exemptions(measured(f"a = 1  # {mark}  # the reason\n")) == []


class TestTemplates:
    def test_nothing_is_inline_and_nothing_unescaped(self) -> None:
        none_of(templates.all_faults())

    @pytest.mark.parametrize(
        ("text", "fault"),
        [
            ('<p style="color: red">', "a style attribute"),
            ("<g STYLE = 'fill: red'>", "a style attribute"),
            ("<style>p {}</style>", "a style element"),
            ("<script>start()</script>", "a script without src"),
            ('<script type="application/json">{}</script>', "a script without src"),
            ('<script src="a.js">start()</script>', "a script with a body"),
            ('<a href="{{ to }}" onclick="go()">', "an on... attribute"),
            ('<svg onload="go()">', "an on... attribute"),
            ('<b hx-on:click="go()">', "an on... attribute"),
            ('<a href="javascript:go()">', "a javascript: address"),
            ("{{ text|safe }}", "|safe"),
            ("{{ list | safeseq }}", "|safe"),
            ("{% autoescape off %}", "autoescape off"),
        ],
    )
    def test_a_fault_is_seen(self, text: str, fault: str) -> None:
        assert templates.faults("a.html", f"<p>\n{text}\n")[0] == f"a.html:2 has {fault}"

    @pytest.mark.parametrize(
        "text",
        [
            '<script src="{% static "drills/clock.js" %}" defer></script>',
            "{# <style> is banned here #}",
            '<p class="style" data-once="1">How on earth = this?</p>',
            '{% include "a.html" with only=1 style="x" %}',
            "{% partialdef question inline %}",
        ],
    )
    def test_what_is_allowed_passes(self, text: str) -> None:
        assert templates.faults("a.html", text) == []


class TestTables:
    def test_keys_point_down_or_stay_in_their_room(self) -> None:
        none_of([fault for model in apps.get_models() for fault in misplaced_keys(model)])

    def test_boards_and_demo_own_no_tables(self) -> None:
        owners = {model._meta.app_label for model in apps.get_models()}

        assert owners & TABLELESS == set()

    def test_every_room_has_its_place_in_the_order(self) -> None:
        found = {app.label for app in apps.get_app_configs() if app.name.startswith("drills.")}

        assert found <= set(ROOMS)

    @isolate_apps("drills.people", "drills.runs")
    def test_a_key_that_points_up_is_seen(self) -> None:
        class Above(models.Model):
            class Meta:
                app_label = "runs"

        class Below(models.Model):
            up = models.ForeignKey(Above, on_delete=models.CASCADE)
            many = models.ManyToManyField(Above, related_name="+")

            class Meta:
                app_label = "people"

        class Fine(models.Model):
            down = models.OneToOneField(Below, on_delete=models.CASCADE)
            own = models.ForeignKey(Above, on_delete=models.CASCADE)

            class Meta:
                app_label = "runs"

        assert misplaced_keys(Below) == ["people.Below.up -> runs", "people.Below.many -> runs"]
        assert misplaced_keys(Fine) == []

    @pytest.mark.django_db
    def test_no_migration_is_missing(self) -> None:
        said = StringIO()

        call_command("makemigrations", "--check", "--dry-run", stdout=said)

        assert said.getvalue().strip() == "No changes detected"


class TestAddresses:
    def test_the_name_of_an_address_is_the_name_of_its_view(self) -> None:
        found = {name: view_name(pattern) for name, pattern in addresses()}

        assert found != {}
        assert found == {name: name.replace(":", ".") for name in found}

    def test_the_page_of_a_view_has_its_name(self) -> None:
        names = {name for name, _ in addresses()}
        pages = [Path(path).relative_to("templates") for path, _ in measure.templates()]
        rooms = [page for page in pages if page.parts[0] in ROOMS and not page.name.startswith("_")]

        none_of([f"{p}" for p in rooms if f"{p.parts[0]}:{p.stem}" not in names])

    def test_a_view_with_a_page_of_its_name_draws_it(self) -> None:
        pages = {path.removeprefix("templates/") for path, _ in measure.templates()}
        own = [(name.replace(":", "/") + ".html", pattern) for name, pattern in addresses()]

        none_of([p for p, pattern in own if p in pages and p not in drawn_beside(pattern)])


class TestRequirements:
    def test_locks_are_in_step_with_the_project(self) -> None:
        none_of(locks.faults())

    def test_each_lock_includes_the_one_before(self) -> None:
        run, demo, dev = ({n: p.version for n, p in locks.pins(k).items()} for k in locks.LOCKS)

        assert run.items() <= demo.items()
        assert demo.items() <= dev.items()

    def test_few_packages_run_the_site(self) -> None:
        """Those that the project names itself; what they bring with them is theirs to choose."""
        direct = [name for name, pin in locks.pins("run").items() if pin.direct]

        assert 0 < len(direct) <= MOST_REQUIREMENTS

    def test_every_direct_one_has_a_reason(self) -> None:
        none_of([name for name, reason in locks.reasons().items() if not reason])
        assert locks.reasons().keys() == locks.wanted()["dev"].keys()

    def test_every_direct_one_is_used(self) -> None:
        unused = locks.wanted()["dev"].keys() - locks.used() - locks.NOT_IMPORTED.keys()

        assert unused == set()

    def test_the_table_of_what_is_not_imported_is_true(self) -> None:
        assert locks.NOT_IMPORTED.keys() <= locks.wanted()["dev"].keys()
        assert locks.NOT_IMPORTED.keys() & locks.used() == set()

    def test_a_lock_out_of_step_is_seen(self) -> None:
        asked = locks.wanted()["run"]
        locked = locks.pins("run")

        assert locks.lock_faults("run", locked, asked) == []
        without = {name: pin for name, pin in locked.items() if name != "gunicorn"}
        assert locks.lock_faults("run", without, asked)[0] == "run.txt: gunicorn is not in it"
        fewer = {name: wish for name, wish in asked.items() if name != "gunicorn"}
        assert locks.lock_faults("run", locked, fewer) == ["run.txt: gunicorn is asked for no more"]
        old = {**locked, "gunicorn": locks.Pin("1.0", 2, True)}
        assert locks.lock_faults("run", old, asked) == ["run.txt: gunicorn 1.0 is not >=27"]
        bare = {**locked, "gunicorn": locks.Pin(locked["gunicorn"].version, 0, True)}
        assert locks.lock_faults("run", bare, asked) == ["run.txt: gunicorn has no hash"]


class TestTopLevel:
    def test_nothing_else_stands_there(self) -> None:
        none_of([name for name in top_level() if name not in TOP])

    def test_everything_promised_stands_there(self) -> None:
        assert TOP - set(top_level()) == set()

    def test_no_file_names_a_place_outside_the_house(self) -> None:
        found = [(path, OUTSIDE.search(text)) for path, text in texts()]

        none_of(f"{path}: {hit[0]}" for path, hit in found if hit)

    def test_a_place_outside_is_seen(self) -> None:
        for word in ("a" + "/../sha" + "red/b", "'/wo" + "rk/main'", "/ho" + "me/me/x"):
            assert OUTSIDE.search(word)
        assert OUTSIDE.search("a homework/main, ../shares/ and /workbook/") is None


class TestClosing:
    def test_nothing_skipped_is_said_too(self) -> None:
        assert closing_line([]) == "Skipped: nothing."

    def test_reasons_are_counted_in_one_line(self) -> None:
        skips = [report("no Chromium"), report("no Chromium"), report("no font")]

        assert closing_line(skips).startswith("Skipped: 2 (no Chromium); 1 (no font).")

    @pytest.mark.parametrize(("ci", "code"), [("true", 1), ("", 0)])
    def test_a_skip_fails_on_ci_alone(
        self, pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch, ci: str, code: int
    ) -> None:
        conftest = measure.ROOT / "tests" / "conftest.py"
        pytester.makeconftest(conftest.read_text(encoding="utf-8"))
        pytester.makepyfile("import pytest\ndef test_it():\n    pytest.skip('no rig')\n")
        monkeypatch.setenv("CI", ci)
        monkeypatch.setenv("PYTHONPATH", str(measure.ROOT))

        result = pytester.runpytest_subprocess("-p", "no:django", "-p", "no:cacheprovider")

        result.stdout.fnmatch_lines(["Skipped: 1 (no rig).*", "*1 skipped in*"])
        assert code == result.ret


class TestDatabaseAlone:
    """What runs once more on another database."""

    def test_all_that_may_open_a_connection_and_one_case_of_a_browser_test(
        self, pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        conftest = measure.ROOT / "tests" / "conftest.py"
        pytester.makeconftest(conftest.read_text(encoding="utf-8"))
        pytester.makepyfile(
            "import pytest\n"
            "@pytest.fixture\ndef db(): pass\n"
            "@pytest.fixture\ndef person(db): pass\n"
            "@pytest.fixture(scope='module')\ndef django_db_setup(): pass\n"
            "@pytest.fixture(scope='module')\ndef made(django_db_setup): pass\n"
            "def test_plain(): pass\n"
            "def test_person(person): pass\n"
            "def test_made(made): pass\n"
            "def test_made_again(made): pass\n"
            "def test_made_and_asked(made, db): pass\n"
            "@pytest.mark.django_db\ndef test_marked(): pass\n"
            "@pytest.mark.browser\ndef test_browser(): pass\n"
            "each = pytest.mark.parametrize('case', ['first', 'second'])\n"
            "@each\n@pytest.mark.django_db\ndef test_cases(case): pass\n"
            "@each\n@pytest.mark.browser\ndef test_moods(case): pass\n"
        )
        monkeypatch.setenv("PYTHONPATH", str(measure.ROOT))
        monkeypatch.setenv("CHROMIUM", "true")
        result = pytester.runpytest_subprocess(
            "-v", DATABASE_ALONE, "-p", "no:django", "-p", "no:cacheprovider"
        )

        result.assert_outcomes(passed=8, deselected=3)
        for left_out in ("test_plain", "test_made_again", "test_moods[[]second"):
            result.stdout.no_fnmatch_line(f"*{left_out}*")


def none_of(found: Iterable[str]) -> None:
    """Fails with a line for each thing found."""
    lines = list(found)
    assert not lines, "\n".join(["found:", *lines])


def report(reason: str) -> pytest.TestReport:
    where = ("tests/test_it.py", 1, f"Skipped: {reason}")
    return pytest.TestReport("it", ("it", 1, "it"), {}, "skipped", where, "call")
