"""The reference data of a later release comes in, past whatever was edited here."""

import json
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from drills.engine.layout import StockLine
from drills.formulary.models import DoseRule, Presentation
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout
from drills.rigs.actions.needs import NeedSaid, add_need, give_aliases
from drills.rigs.models import (
    FurtherAliases,
    ItemTerms,
    Need,
    ReferenceRow,
    RequiredList,
    RequiredRow,
)
from drills.scenarios.models import CallType, Locality
from tests.layouts import FIXTURES, practice_rig
from tests.rigs.conftest import NOW

pytestmark = pytest.mark.django_db

Release = Callable[..., Path]
HAT = {
    "key": "hard-hat",
    "name_us": "Hard hat",
    "name_intl": "Safety helmet",
    "aliases": ["helmet"],
    "category": "scene and incident",
}
CONE = {"key": "cones", "name_us": "Cones", "name_intl": "Cones", "category": "scene and incident"}


@pytest.fixture
def release(tmp_path: Path) -> Release:
    """Writes a release with some needs."""

    def write(*needs: dict[str, Any]) -> Path:
        path = tmp_path / "needs.json"
        path.write_text(json.dumps([{"model": "rigs.need", "fields": each} for each in needs]))
        return path

    return write


def update(*args: object, **options: Any) -> str:
    out = StringIO()
    call_command("update_reference", *map(str, args), stdout=out, **options)
    return out.getvalue()


def everything() -> dict[str, list[Any]]:
    kinds = (Need, CallType, Locality, Presentation, DoseRule)
    return {
        kind.__name__: [
            {name: value for name, value in row.items() if not name.endswith("id")}
            for row in kind._base_manager.order_by(*(kind._meta.ordering or ()), "pk").values()
        ]
        for kind in kinds
    }


def test_on_an_empty_database_it_brings_what_loaddata_brings(
    django_assert_max_num_queries: Any,
) -> None:
    call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)
    loaded = everything()
    for kind in (DoseRule, Presentation, CallType, Locality, Need):
        kind._base_manager.all().delete()

    said = update()

    assert everything() == loaded
    assert len(loaded["Need"]) > 200
    assert f"rigs.need:{loaded['Need'][0]['key']}: new" in said


def test_a_second_time_changes_nothing_and_writes_no_audit() -> None:
    update()
    before, lines = everything(), AuditEntry.objects.count()

    said = update()

    count = ReferenceRow.objects.count()
    assert said == f"{count} rows: {count} as it was.\n"
    assert everything() == before
    assert AuditEntry.objects.count() == lines


def test_after_loaddata_it_notes_what_is_here() -> None:
    call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)

    said = update()

    assert set(said.split(": ")[1].split(", ")) == {f"{ReferenceRow.objects.count()} as it was.\n"}
    assert ReferenceRow.objects.count() > 500


def test_what_nobody_edited_takes_the_words_of_the_release(release: Release) -> None:
    update(release(HAT, CONE))

    said = update(release(HAT | {"note": "class C", "size": "L"}, CONE))

    assert "rigs.need:hard-hat: changed (size, note)" in said
    assert "2 rows: 1 as it was, 1 changed." in said
    assert Need.objects.get(key="hard-hat").note == "class C"


def test_what_was_edited_here_is_left_and_said(release: Release) -> None:
    update(release(HAT, CONE))
    Need.objects.filter(key="hard-hat").update(note="ours are white")

    said = update(release(HAT | {"size": "L"}, CONE | {"size": "M"}))

    assert "rigs.need:hard-hat: edited here, left (size, note)" in said
    assert Need.objects.get(key="hard-hat").note == "ours are white"
    assert Need.objects.get(key="hard-hat").size == ""
    assert Need.objects.get(key="cones").size == "M"


def test_left_once_it_is_left_again(release: Release) -> None:
    update(release(HAT))
    Need.objects.update(note="ours are white")
    for size in ("L", "M"):
        assert "edited here, left" in update(release(HAT | {"size": size}))

    assert Need.objects.get().note == "ours are white"


def test_one_that_is_named_takes_the_words_of_the_release(release: Release) -> None:
    update(release(HAT, CONE))
    Need.objects.update(note="edited")

    update(release(HAT, CONE), take=["rigs.need:hard-hat"])

    assert Need.objects.get(key="hard-hat").note == ""
    assert Need.objects.get(key="cones").note == "edited"


def test_of_what_was_never_noted_nobody_can_tell(release: Release) -> None:
    Need.objects.create(**HAT, note="an older word")

    said = update(release(HAT))

    assert "rigs.need:hard-hat: of unknown making, left (note)" in said
    assert "Of what is of unknown making, left, nothing was noted" in said
    assert Need.objects.get().note == "an older word"


def test_told_quietly_a_release_says_how_many_and_not_which(release: Release) -> None:
    said = update(release(HAT, CONE), verbosity=0)

    assert said == "2 rows: 2 new.\n"


def test_a_trial_says_it_and_stores_nothing(release: Release) -> None:
    update(release(HAT))

    said = update(release(HAT | {"size": "L"}, CONE), dry_run=True)

    assert "rigs.need:hard-hat: changed (size)" in said
    assert "rigs.need:cones: new" in said
    assert "A trial: nothing is stored." in said
    assert Need.objects.get().size == ""
    assert "rigs.need:cones: new" in update(release(HAT, CONE))


def test_what_a_release_withdraws_is_said_and_stays(release: Release) -> None:
    update(release(HAT, CONE))
    import_layout(practice_rig(), by=None, now=NOW)
    ItemTerms.objects.filter(item__key="tourniquet").update(need=Need.objects.get(key="cones"))

    said = update(release(HAT))

    assert "rigs.need:cones: withdrawn by this release, stays (used 1 times)" in said
    assert Need.objects.filter(key="cones").exists()


def sample(tmp_path: Path, *items: str) -> Path:
    """A release with one sample list of these items."""
    held = {"slug": "sample-town", "name": "Town", "is_sample": True, "loaded_at": NOW.isoformat()}
    said = {"of": ["sample-town"], "source": "Plan 7", "level": "BLS", "obligation": "mandatory"}
    rows = [
        {"model": "rigs.requiredrow", "fields": said | {"item": item, "order": place}}
        for place, item in enumerate(items)
    ]
    path = tmp_path / "lists.json"
    path.write_text(json.dumps([{"model": "rigs.requiredlist", "fields": held}, *rows]))
    return path


def test_a_sample_is_what_its_release_says_and_no_more(tmp_path: Path) -> None:
    update(sample(tmp_path, "Cot", "Lamp"))

    said = update(sample(tmp_path, "Cot", "Hand lamp"))

    assert "sample-town/BLS/Lamp: withdrawn by this release, taken out of its sample" in said
    assert set(RequiredRow.objects.values_list("item", flat=True)) == {"Cot", "Hand lamp"}
    assert "3 rows: 3 as it was." in update(sample(tmp_path, "Cot", "Hand lamp"))


def test_a_list_of_the_agencys_own_gets_no_rows_of_a_sample(tmp_path: Path) -> None:
    own = RequiredList.objects.create(slug="sample-town", name="Sample town", loaded_at=NOW)
    RequiredRow.objects.create(of=own, order=1, source="Ours", level="BLS", item="Cot")

    said = update(sample(tmp_path, "Cot", "Lamp"))

    assert "rigs.requiredrow:sample-town/BLS/Lamp: of a list that was left, left" in said
    assert list(own.rows.values_list("item", "source")) == [("Cot", "Ours")]


def test_what_was_taken_away_here_does_not_come_back(release: Release) -> None:
    update(release(HAT, CONE))
    Need.objects.get(key="cones").delete()

    assert "rigs.need:cones: taken away here, left" in update(release(HAT, CONE))
    assert not Need.objects.filter(key="cones").exists()

    update(release(HAT, CONE), take=["rigs.need:cones"])
    assert Need.objects.filter(key="cones").exists()


@pytest.mark.parametrize("by_loaddata", [True, False])
def test_what_keepers_added_outlives_a_release(
    release: Release, keeper: Person, by_loaddata: bool
) -> None:
    update(release(HAT))
    give_aliases(Need.objects.get(), ("brain bucket",), by=keeper, now=NOW)
    said = NeedSaid(
        name_us="Ice pack",
        name_intl="Ice pack",
        aliases=("cold pack",),
        category="circulation and bleeding",
        size="",
        is_controlled=False,
        note="",
    )
    own, _ = add_need(said, by=keeper, now=NOW)

    later = release(HAT | {"aliases": ["helmet", "lid"]})
    if by_loaddata:
        call_command("loaddata", str(later), verbosity=0)
    else:
        update(later)

    assert Need.objects.get(key="hard-hat").every_alias == ("helmet", "lid", "brain bucket")
    assert Need.objects.get(pk=own.pk).aliases == ["cold pack"]
    assert FurtherAliases.objects.count() == 1


def test_no_standard_need_has_a_key_of_an_agencys_own() -> None:
    keys = [each["fields"]["key"] for each in json.loads((FIXTURES / "needs.json").read_text())]

    assert not [key for key in keys if Need(key=key).is_own]


def test_drafts_are_tied_by_the_words_that_a_release_brings(release: Release) -> None:
    rig = practice_rig()
    lid = StockLine("S1", "Lid, white", 1)
    update(release(HAT))
    draft = import_layout(replace(rig, stock=(*rig.stock, lid)), by=None, now=NOW)
    assert draft.untied.filter(name="Lid, white").exists()

    said = update(release(HAT | {"aliases": ["helmet", "lid, white"]}))

    assert f"{draft}: Lid, white is tied to Hard hat" in said
    assert ItemTerms.objects.get(name="Lid, white").need == Need.objects.get()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "[]",
        "[1]",
        '[{"model": "nowhere.need"}]',
        '[{"model": "rigs.need", "fields": {"key": "a", "odd": 1}}]',
        '[{"model": "formulary.doserule", "fields": {"revision": [7], "code": "A"}}]',
    ],
)
def test_a_file_that_is_no_reference_data_is_named_and_nothing_stored(
    release: Release, tmp_path: Path, text: str
) -> None:
    broken = tmp_path / "zz-broken.json"
    broken.write_text(text)

    with pytest.raises(CommandError, match=r"zz-broken\.json.*Nothing is stored\."):
        update(release(HAT), broken)

    assert Need.objects.count() == 0


def test_a_row_that_is_not_there_cannot_be_taken(release: Release) -> None:
    with pytest.raises(CommandError, match=r"rigs\.need:hat came in"):
        update(release(HAT), take=["rigs.need:hat"])

    assert Need.objects.count() == 0


def test_the_audit_has_one_line_for_a_release(release: Release) -> None:
    update(release(HAT, CONE))

    line = AuditEntry.objects.get(action="update reference")
    assert line.after == {"new": 2}
