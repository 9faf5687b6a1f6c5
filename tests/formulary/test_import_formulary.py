"""The command that imports a formulary: one JSON document, and all of it or nothing."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from drills.engine.formulary_workbook import to_csv, to_xlsx
from drills.formulary.models import FormularyRevision
from drills.formulary.workbook.told import book_of
from drills.people.models import AuditEntry, Person
from tests.formulary.conftest import ClientOf, put_in_force
from tests.formulary.test_flagged import SOURCE, TENFOLD
from tests.formulary.test_import import changed
from tests.formulary.test_import_page import looked_at
from tests.formulary.test_index import said


def run(*arguments: object) -> tuple[Any, str]:
    out, err = StringIO(), StringIO()
    call_command("import_formulary", *map(str, arguments), stdout=out, stderr=err)
    return json.loads(out.getvalue()), err.getvalue()


def refused(*arguments: object) -> tuple[Any, CommandError]:
    out = StringIO()
    with pytest.raises(CommandError) as error:
        call_command("import_formulary", *map(str, arguments), stdout=out, stderr=StringIO())
    return json.loads(out.getvalue() or "null"), error.value


@pytest.fixture
def path(own: FormularyRevision, educator: Person, tmp_path: Path) -> Path:
    """A workbook that says one thing more than the draft that is here."""
    made = tmp_path / "formulary.xlsx"
    made.write_bytes(to_xlsx(changed(book_of(own), "A1", notes="seen")))
    return made


def test_stores_a_draft_and_says_what_it_changes(path: Path) -> None:
    told, err = run(path)

    assert told == {
        "revision": 2,
        "state": "draft",
        "is_new": True,
        "against": None,
        "rules": {"count": 1, "added": 1, "removed": 0, "changed": 0},
        "flagged": {},
        "contradictions": [],
        "cannot_be_approved": {},
    }
    assert 'no rule here spoke of "seizure"' not in err
    (line,) = AuditEntry.objects.filter(action="import formulary")
    assert line.actor is None


def test_flags_what_the_page_flags(
    own: FormularyRevision,
    educator: Person,
    director: Person,
    client_of: ClientOf,
    tmp_path: Path,
) -> None:
    """A tenfold dose on the source it had, and against its own note."""
    put_in_force(own, by=director)
    note = "0.1 mL/kg of 2 mg/mL"
    book = changed(book_of(own), "A1", dose="2 mg/kg", notes=note)
    made = tmp_path / "formulary.xlsx"
    made.write_bytes(to_xlsx(book))
    page = said(looked_at(client_of(educator), book))

    flags = run(made)[0]["flagged"]["A1"]

    assert [TENFOLD in flags, SOURCE in flags, len(flags)] == [True, True, 3]
    assert f"the note says {note}" in flags[2]
    assert all(each[1:] in page.partition("Store as draft")[0] for each in flags)


def test_the_same_again_is_the_same_revision(path: Path) -> None:
    assert [run(path)[0]["is_new"], run(path)[0]["is_new"]] == [True, False]
    assert FormularyRevision.objects.count() == 2


def test_submits_for_an_educator(path: Path, educator: Person) -> None:
    told, _ = run(path, "--submit", "--by", educator.employee_number)

    assert told["state"] == "submitted"
    assert FormularyRevision.objects.get(number=2).submitted_by == educator


@pytest.mark.parametrize("number", ["", "NOBODY", "DIRECTOR"])
def test_nobody_but_an_educator_submits(path: Path, director: Person, number: str) -> None:
    told, error = refused(path, "--submit", "--by", number)

    assert told is None
    assert "the employee number of an active educator" in str(error)
    assert FormularyRevision.objects.count() == 1


def test_what_cannot_be_submitted_is_not_stored(
    own: FormularyRevision, educator: Person, tmp_path: Path
) -> None:
    book = changed(book_of(own), "A1", status="from memory")
    for name, content in to_csv(book).items():
        (tmp_path / name).write_bytes(content)

    told, _ = refused(tmp_path, "--submit", "--by", educator.employee_number)

    assert "from memory" in told["refused"]
    assert FormularyRevision.objects.count() == 1
    assert run(tmp_path)[0]["cannot_be_approved"] == {"A1": "is from memory: no document was read"}


def test_says_every_problem_with_its_place_and_stores_nothing(
    own: FormularyRevision, tmp_path: Path
) -> None:
    for name, content in to_csv(book_of(own)).items():
        wrong = content.replace(b"0.2 mg/kg", b"0.2 mg").replace(b"paramedic", b"surgeon")
        (tmp_path / name).write_bytes(wrong)

    told, error = refused(tmp_path)

    assert error.returncode == 1
    assert [(each["sheet"], each["row"], each["column"]) for each in told["problems"]] == [
        ("rules", 2, "dose"),
        ("rules", 2, "level"),
    ]
    assert told["problems"][0]["got"] == '"0.2 mg"'
    assert FormularyRevision.objects.count() == 1


def test_a_file_that_is_not_there_is_a_problem(db: None, tmp_path: Path) -> None:
    told, _ = refused(tmp_path / "none.xlsx")

    assert told["problems"][0]["sheet"] == ""
