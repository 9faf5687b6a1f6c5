"""A database of before reviews had a day: it is still known which call types were edited."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from drills.rigs.models import ReferenceRow
from drills.rigs.reference import CHANGED, EDITED, _checksum
from drills.scenarios.models import CallType
from tests.rigs.test_reference import update

pytestmark = pytest.mark.django_db(transaction=True)

BEFORE = [("scenarios", "0008_marks_of_writing")]


def test_what_was_edited_before_is_left_and_the_rest_comes_in() -> None:
    """Both were brought in by the release before; since then one was edited here."""
    update()
    executor = MigrationExecutor(connection)
    executor.migrate(BEFORE)
    try:
        table = executor.loader.project_state(BEFORE).apps.get_model("scenarios", "CallType")
        for row in table.objects.filter(slug__in=["burns", "stroke"]):
            row.size_up = "As the release before said it"
            row.save()
            noted = ReferenceRow.objects.filter(table="scenarios.calltype", key=row.slug)
            assert noted.update(checksum=_checksum(row)) == 1
        table.objects.filter(slug="burns").update(scene="a yard")
    finally:
        forward = MigrationExecutor(connection)
        forward.migrate(forward.loader.graph.leaf_nodes("scenarios"))

    told = update()

    assert f"scenarios.calltype:burns: {EDITED}" in told
    assert f"scenarios.calltype:stroke: {CHANGED}" in told
    assert CallType.objects.get(slug="burns").scene == "a yard"
