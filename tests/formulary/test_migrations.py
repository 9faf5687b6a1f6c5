"""A database of before presentations had rows of their own: nothing of its rules is lost."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from drills.formulary import models
from drills.formulary.drillable import drillable
from drills.formulary.reports import rules_of
from drills.rigs.models import ReferenceRow
from drills.rigs.reference import EDITED, _checksum
from tests.rigs.test_reference import update

pytestmark = pytest.mark.django_db(transaction=True)

BEFORE = [("formulary", "0001_initial")]
APPROVED = {
    "state": "approved",
    "approved_by_name": "Di Rector",
    "approved_on": date(2026, 11, 20),
    "document": "Protocols, edition 7",
}


@pytest.fixture
def apps_before() -> Iterator[Any]:
    """The tables as they were; they are as they are now once the test is over."""
    executor = MigrationExecutor(connection)
    executor.migrate(BEFORE)
    yield executor.loader.project_state(BEFORE).apps
    forward()


def forward() -> None:
    executor = MigrationExecutor(connection)
    executor.migrate(executor.loader.graph.leaf_nodes("formulary"))


def note_as_before(apps: Any) -> None:
    """Note each row as the release of before did, by the columns it had."""
    tables = {"doserule": "DoseRule", "formularyrevision": "FormularyRevision"}
    for table, name in tables.items():
        for row in apps.get_model("formulary", name).objects.all():
            key = f"{row.revision.number}/{row.code}" if table == "doserule" else str(row.number)
            noted = ReferenceRow.objects.filter(table=f"formulary.{table}", key=key)
            assert noted.update(checksum=_checksum(row)) == 1


def make(apps: Any, revision: Any, code: str, **fields: Any) -> None:
    medicine, _ = apps.get_model("formulary", "Medicine").objects.get_or_create(
        key="midazolam", name="Midazolam"
    )
    given = {"level": "paramedic", "indication": "seizure", "route": "IM", "basis": "per kg"}
    sourced = {"source": "P", "version": "7", "date": date(2026, 11, 20), "status": "confirmed"}
    apps.get_model("formulary", "DoseRule").objects.create(
        revision=revision,
        code=code,
        medicine=medicine,
        dose="0.2 mg/kg",
        **given,
        **sourced,
        **fields,
    )


def test_what_a_rule_came_as_becomes_a_row_that_rules_share(apps_before: Any) -> None:
    Need = apps_before.get_model("rigs", "Need")
    need = Need.objects.create(key="midazolam", name_us="Midazolam", name_intl="Midazolam")
    revision = apps_before.get_model("formulary", "FormularyRevision").objects.create(
        number=1, **APPROVED
    )
    for code, presentation, of in (
        ("A1", "10 mg / 2 mL", need),
        ("A2", "10 mg / 2 mL", need),
        ("A3", "5 mg / 5 mL", need),
        ("A4", "7.5 mg tablet", None),
        ("A5", "1000 mL bag", None),
        ("A6", "", None),
    ):
        make(apps_before, revision, code, presentation=presentation, need=of)

    forward()

    rules = rules_of(models.FormularyRevision.objects.get())
    assert {rule.code: rule.presentations for rule in rules} == {
        "A1": ["midazolam"],
        "A2": ["midazolam"],
        "A3": ["midazolam-2"],
        "A4": ["midazolam-75-mg-tablet"],
        "A5": ["midazolam-1000-ml-bag"],
        "A6": [],
    }
    told = {rule.code: (rule.comes_as[0].printed, rule.page) for rule in rules}
    assert told["A1"] == ("10 mg / 2 mL", "no page")
    assert [told[code][0] for code in ("A3", "A4", "A5")] == [
        "5 mg / 5 mL",
        "7.5 mg tablet",
        "1000 mL bag",
    ]
    assert (drillable(rules[0]).need, str(drillable(rules[0]).presentation)) == (
        "midazolam",
        "10 mg / 2 mL",
    )


def test_the_demonstration_is_updated_but_for_what_was_edited(apps_before: Any) -> None:
    """A rule that nobody touched since it was brought in takes the words of the release."""
    forward()
    update()
    fresh = models.DoseRule.objects.get(code="D020")
    MigrationExecutor(connection).migrate(BEFORE)
    rules = apps_before.get_model("formulary", "DoseRule").objects
    need = apps_before.get_model("rigs", "Need").objects.get(key="atropine-syringe")
    rules.filter(code="D020").update(presentation="1 mg / 10 mL", need=need)
    ReferenceRow.objects.filter(table="formulary.presentation").delete()
    note_as_before(apps_before)
    rules.filter(code="D021").update(notes="Ours now.")

    forward()
    said = update()

    assert f"formulary.doserule:0/D021: {EDITED}" in said
    assert "1 edited here, left, 36 new." in said
    assert "formulary.presentation:0/atropine-syringe: changed" in said
    assert models.Presentation.objects.get(key="atropine-syringe").container == "syringe"
    after = models.DoseRule.objects.get(code="D020")
    assert (after.page, after.presentations) == (fresh.page, fresh.presentations)
    assert models.DoseRule.objects.get(code="D021").notes == "Ours now."
