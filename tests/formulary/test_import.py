"""A workbook of the formulary stored as a draft: what it becomes, and what it leaves alone."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied

from drills.demo.factories import PersonFactory
from drills.engine import formulary_workbook
from drills.engine.formulary_workbook import Book, Packed, columns, read_book, to_xlsx, to_zip
from drills.formulary.actions import draft_from, import_formulary
from drills.formulary.models import (
    NO_PAGE,
    Basis,
    Container,
    DoseRule,
    FormularyRevision,
    FormularyState,
    Medicine,
    Presentation,
    RuleStatus,
)
from drills.formulary.workbook.preview import preview_of
from drills.formulary.workbook.rows import RenamedError
from drills.formulary.workbook.told import book_of, in_order, known
from drills.people.models import AuditEntry, Person, Role
from tests.engine.formulary_files import demonstration as demonstration_sheets
from tests.engine.workbook_files import csv_zip
from tests.formulary.conftest import NOW, put_in_force


def read(data: bytes) -> Book:
    parsed = read_book(data, known())
    assert parsed.book is not None, parsed.problems
    return parsed.book


def changed(book: Book, code: str, **values: Any) -> Book:
    """A formulary with one rule changed."""
    rules = [replace(each, **values) if each.code == code else each for each in book.rules]
    return replace(book, rules=tuple(rules))


def test_the_words_of_the_form_are_those_of_the_tables() -> None:
    """What the reader takes can be stored, and all that can be stored is taken."""
    assert tuple(Container.values) == columns.CONTAINERS
    assert tuple(RuleStatus.values) == columns.STATUSES
    assert tuple(formulary_workbook.amounts.BASES) == tuple(Basis.values)
    assert columns.NO_PAGE == NO_PAGE
    stored = {each.name for each in DoseRule._meta.concrete_fields} - {"id", "revision"}
    assert {*columns.COLUMNS["rules"]} == stored - {"is_mixed"} | {"mixed"}


@pytest.mark.parametrize("kind", ["rules", "presentations", "formulary"])
def test_no_text_that_is_read_is_too_long_to_be_kept(kind: str) -> None:
    """A limit of the form is never above that of the column it is stored in."""
    tables = {"rules": DoseRule, "presentations": Presentation, "formulary": FormularyRevision}
    lengths = {
        each.name: each.max_length
        for each in tables[kind]._meta.concrete_fields
        if getattr(each, "max_length", None)
    }
    told = {
        column.name: column.accepted
        for sheet in formulary_workbook.guide()
        if sheet.name == kind
        for column in sheet.columns
    }

    checked = 0
    for name, accepted in told.items():
        if name in lengths and accepted.startswith("text, at most "):
            checked += 1
            assert int(accepted.split()[3]) <= int(lengths[name] or 0), name
    assert checked >= {"rules": 10, "presentations": 0, "formulary": 2}[kind]


@pytest.mark.parametrize("write", [to_xlsx, to_zip])
def test_what_goes_out_comes_in_and_changes_nothing(demo: FormularyRevision, write: object) -> None:
    """The demonstration out and in is the demonstration; no revision and no line is made."""
    assert callable(write)
    book = read(write(book_of(demo)))

    assert import_formulary(book, by=None, now=NOW) == demo
    assert FormularyRevision.objects.count() == 1
    assert not AuditEntry.objects.filter(action="import formulary").exists()
    assert write(book) == write(book_of(demo))


def test_the_demonstration_as_it_is_written_by_hand_is_the_demonstration(
    demo: FormularyRevision,
) -> None:
    """Read from the reference data by another way, it says what the tables say."""
    sheets, _ = demonstration_sheets()
    book = read(csv_zip(sheets))

    told = book_of(demo)
    assert in_order(book).rules == told.rules
    assert in_order(book).presentations == told.presentations
    assert in_order(book).medicines == told.medicines


def test_a_changed_workbook_is_the_next_draft(
    demo: FormularyRevision, educator: Person, demonstration: None
) -> None:
    """All of it is stored as it was read, under the next number, with one line in the audit."""
    book = replace(
        changed(book_of(demo), "D002", dose="0.02 mg/kg", age_from_y=None),
        name="County formulary",
        document="County protocols",
        version="8",
        date=date(2026, 7, 1),
        notes="first",
    )

    made = import_formulary(book, by=educator, now=NOW)

    assert (made.number, made.state, made.is_demo, made.notice) == (1, "draft", False, "")
    assert book_of(FormularyRevision.objects.get(number=1)) == book
    (line,) = AuditEntry.objects.filter(action="import formulary")
    assert (line.actor, line.subject, line.before) == (educator, "revision 1", {"in force": 0})
    assert line.after == {
        "name": "County formulary",
        "rules": 76,
        "presentations": 37,
        "new medicines": [],
    }


def test_the_same_workbook_twice_is_one_draft(demo: FormularyRevision, educator: Person) -> None:
    """The newest revision says it already, whatever the order of its rows."""
    book = replace(book_of(demo), name="County formulary")

    first = import_formulary(book, by=educator, now=NOW)
    again = import_formulary(replace(book, rules=tuple(reversed(book.rules))), by=educator, now=NOW)

    assert again == first
    assert FormularyRevision.objects.count() == 2


def test_what_is_in_force_again_makes_no_draft_beside_a_later_one(
    own: FormularyRevision, director: Person, educator: Person
) -> None:
    """A draft that waits does not make the approved one new."""
    put_in_force(own, by=director)
    told = book_of(own)
    draft = import_formulary(changed(told, "A1", notes="later"), by=educator, now=NOW)

    assert (draft.number, import_formulary(told, by=educator, now=NOW)) == (2, own)
    own.refresh_from_db()
    assert own.state == FormularyState.APPROVED


def test_a_medicine_that_is_new_is_made_and_one_that_is_here_is_kept(
    demo: FormularyRevision, director: Person
) -> None:
    """Medicines are the same rows in every revision."""
    before = set(Medicine.objects.values_list("pk", flat=True))
    book = book_of(demo)
    new = formulary_workbook.Medicine("testol", "Testol")
    rule = replace(book.rules[0], code="X1", medicine="testol", presentations=("testol-vial",))
    book = replace(
        book,
        medicines=(*book.medicines, new),
        presentations=(*book.presentations, Packed("testol-vial", "testol", "10 mg / 2 mL")),
        rules=(*book.rules, rule),
    )

    made = import_formulary(book, by=director, now=NOW)

    assert set(Medicine.objects.values_list("pk", flat=True)) - before == {
        made.rules.get(code="X1").medicine_id
    }


def test_a_medicine_of_another_name_stores_nothing(demo: FormularyRevision) -> None:
    """Between reading and storing somebody may have named it otherwise."""
    book = book_of(demo)
    Medicine.objects.filter(key="epinephrine").update(name="Adrenaline")

    with pytest.raises(RenamedError, match="epinephrine is called Adrenaline here"):
        import_formulary(changed(book, "D001", notes="x"), by=None, now=NOW)

    assert FormularyRevision.objects.count() == 1


@pytest.mark.parametrize("role", [each for each in Role if each not in ("educator", "director")])
def test_nobody_else_brings_a_formulary_in(own: FormularyRevision, role: Role) -> None:
    """Educator and medical director; the rule is held by the action, whatever the page does."""
    person = PersonFactory.create(roles=[role])

    with pytest.raises(PermissionDenied):
        import_formulary(changed(book_of(own), "A1", notes="x"), by=person, now=NOW)


def test_a_preview_says_what_changes_and_stores_nothing(
    own: FormularyRevision, director: Person
) -> None:
    """Against what is in force: rules, how medicines come, and what it says of itself."""
    put_in_force(own, by=director)
    book = book_of(own)
    book = replace(changed(book, "A1", maximum="8 mg"), version="8")
    book = replace(
        book,
        presentations=(replace(book.presentations[0], strength="5 mg / 1 mL"),),
        rules=(*book.rules, replace(book.rules[0], code="A2", maximum="", status="from memory")),
    )

    found = preview_of(book, NOW)

    assert (found.number, found.same, found.before) == (2, None, own)
    assert found.differences.counts == [(1, "added"), (0, "removed"), (1, "changed")]
    ((field,),) = [each.fields for each in found.differences.changes if each.what == "changed"]
    assert (field.name, field.before, field.after) == ("maximum", "10 mg", "8 mg")
    assert found.packings == [
        "10-mg-2-ml-vial: was Test medicine 10 mg / 2 mL vial, "
        "becomes Test medicine 5 mg / 1 mL vial"
    ]
    assert [(each.name, each.before, each.after) for each in found.about] == [
        ("version", "nothing", "8")
    ]
    assert [(pair.first.code, pair.second.code) for pair in found.pairs] == [("A1", "A2")]
    assert [(rule.code, why) for rule, why in found.faults] == [
        ("A2", "is from memory: no document was read")
    ]
    assert FormularyRevision.objects.count() == 1


def test_bounds_that_are_the_same_are_no_change(own: FormularyRevision, director: Person) -> None:
    """14 of a workbook is 14.000 of the tables."""
    own.rules.update(age_from_y=14, weight_below_kg="2.5")
    put_in_force(own, by=director)
    book = read(to_xlsx(book_of(own)))

    assert preview_of(book, NOW).same == own
    assert preview_of(changed(book, "A1", notes="x"), NOW).differences.counts[2] == (1, "changed")
    (change,) = preview_of(changed(book, "A1", notes="x"), NOW).differences.changes
    assert [each.name for each in change.fields] == ["notes"]


def test_a_draft_from_a_revision_keeps_what_it_was_written_from(
    own: FormularyRevision, educator: Person
) -> None:
    """A correction is of the same document."""
    book = replace(book_of(own), name="County formulary", document="Protocols", version="8")
    made = import_formulary(book, by=educator, now=NOW)

    assert book_of(draft_from(made, by=educator, now=NOW)) == book
