"""A workbook with words of its own, by somebody who never saw the needs: tied, confirmed, drilled.

The van and the keeper's decisions on it are invented; what ties is what the rules make of them.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from django.utils import timezone

from drills.demo.factories import PersonFactory
from drills.engine.callplan import plan
from drills.engine.calls import MUST
from drills.engine.layout import Layout, item_key
from drills.engine.recipes import STAGE
from drills.engine.scoring import RIGHT
from drills.engine.staging import mark_stage, must_haves
from drills.engine.ties import BY_ALIAS, BY_NAME
from drills.engine.workbook import read_workbook
from drills.rigs.actions import import_layout
from drills.rigs.models import Item, Need, Revision
from drills.rigs.reading import layout_of
from drills.rigs.ties import BY_KEEPER, SUGGESTED, need_ties, terms_of
from drills.rigs.tying import decide_ties
from drills.scenarios.models import Recipe
from drills.scenarios.reading import material_of
from tests.reference import DATA, load_reference, table

pytestmark = pytest.mark.django_db
NOW = timezone.now()
ASSESSED = "multi-patient-assessed"
SEEDS = range(1, 11)


def foreign() -> Layout:
    layout = read_workbook(DATA / "foreign_van", name="foreign_van").layout
    assert layout is not None
    return layout


@pytest.fixture
def revision(db: None, settings: Any) -> Revision:
    settings.READINESS_DEMO = True
    load_reference()
    return import_layout(foreign(), by=None, now=NOW, publish=True)


def decide() -> None:
    """The keeper says of each item that waits what it is, or that it is none of the needs."""
    needs = {need.key: need for need in Need.objects.all()}
    rows = table("foreign_van_decisions.csv")
    decided = {
        Item.objects.get(key=item_key(row["item"])).pk: needs.get(row["need"]) for row in rows
    }
    assert all(row["need"] in needs for row in rows if row["need"])
    decide_ties(decided, by=PersonFactory.create(), now=NOW)


def by_rule(revision: Revision) -> Counter[str]:
    ties = need_ties(revision)
    found = Counter(tie.rule for tie in ties.values())
    found["none"] = sum(row.item.key not in ties for row in terms_of(revision))
    return found


def test_most_of_it_is_tied_or_suggested(
    revision: Revision, record_property: Callable[[str, object], None]
) -> None:
    found = by_rule(revision)

    told = ", ".join(f"{found[rule]} {rule}" for rule in (BY_NAME, BY_ALIAS, SUGGESTED, "none"))
    record_property("told", f"Ties of a foreign van: {found.total()} items, {told}.")
    assert found == {BY_NAME: 9, BY_ALIAS: 31, SUGGESTED: 38, "none": 28}


def test_a_keepers_word_is_remembered_for_the_next_import(revision: Revision) -> None:
    decide()
    layout = layout_of(revision)
    again = import_layout(replace(layout, notes="restocked"), by=None, now=NOW, publish=True)

    found = by_rule(again)

    assert again.number == revision.number + 1
    assert found[BY_KEEPER] == sum(bool(row["need"]) for row in table("foreign_van_decisions.csv"))


def test_after_confirming_it_yields_assessed_calls_that_its_must_haves_pass(
    revision: Revision,
) -> None:
    decide()
    material = material_of(revision, now=NOW, is_assessed=True)
    layout, spec = layout_of(revision), Recipe.objects.get(slug=ASSESSED).spec

    for seed in SEEDS:
        found = plan(layout, spec, seed=seed, material=material)
        kits = [each.stage for each in found.prompts if each.kind == STAGE and each.stage]
        assert len(kits) == dict(spec.kinds)[STAGE]
        for kit in kits:
            brought = must_haves(layout, kit.wanted)
            assert mark_stage(layout, kit.wanted, brought, kit.tied).outcome == RIGHT
            assert sum(each.quantity for each in kit.wanted if each.grade == MUST) > 0
            assert not kit.unconfirmed & {thing for each in kit.wanted for thing in each.things}
