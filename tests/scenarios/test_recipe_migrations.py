"""A database of before recipes had versions: those there are, are kept, and edits still known."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from drills.rigs.models import ReferenceRow
from drills.rigs.reference import CHANGED, EDITED, _checksum
from drills.scenarios.models import Recipe, RecipeVersion
from tests.rigs.test_reference import update

pytestmark = pytest.mark.django_db(transaction=True)

BEFORE = [("scenarios", "0014_why_a_review_ended")]


def test_what_was_edited_before_is_left_and_every_version_is_kept() -> None:
    """Both were brought in by the release before; since then one was edited here."""
    update()
    executor = MigrationExecutor(connection)
    executor.migrate(BEFORE)
    try:
        table = executor.loader.project_state(BEFORE).apps.get_model("scenarios", "Recipe")
        for row in table.objects.filter(slug__in=["find-ten", "what-moved"]):
            row.notes = "As the release before said it"
            row.save()
            noted = ReferenceRow.objects.filter(table="scenarios.recipe", key=row.slug)
            assert noted.update(checksum=_checksum(row)) == 1
        table.objects.filter(slug="find-ten").update(minutes=99)
    finally:
        forward = MigrationExecutor(connection)
        forward.migrate(forward.loader.graph.leaf_nodes())

    told = update()

    assert f"scenarios.recipe:find-ten: {EDITED}" in told
    assert f"scenarios.recipe:what-moved: {CHANGED}" in told
    assert Recipe.objects.get(slug="find-ten").minutes == 99
    kept = RecipeVersion.objects.get(recipe__slug="what-moved")
    assert (kept.version, kept.notes) == (3, "As the release before said it")
