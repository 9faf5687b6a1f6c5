"""Required lists: a file comes in, its rows are tied, and a revision is judged by them."""

import base64
import csv
import re
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from drills.engine.required_file import ITEM_LENGTH, WORD_LENGTH
from drills.people.models import AuditEntry, Person
from drills.rigs import actions
from drills.rigs.models import (
    Item,
    ItemTerms,
    Need,
    ReferenceRow,
    RequiredList,
    RequiredRow,
    Revision,
    RevisionState,
    Rig,
)
from drills.rigs.models.required import LIST_NAME_LENGTH
from drills.rigs.required import judgement_of
from drills.rigs.requiring import plan_list
from tests.layouts import BLEEDING, MEDICINES
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf, NumQueries

LISTS, TAKE = reverse("rigs:required"), reverse("rigs:take_required")
COUNTY = reverse("rigs:required_list", args=["county-plan"])
JUDGED = reverse("rigs:judgement", args=["practice-rig", 1])
FILE = """source,level,item,min quantity,unit,mandatory/optional
Plan 7,ambulance,Tourniquet for limbs,3,each,mandatory
Plan 7,ambulance,Rolls of gauze,7,each,mandatory
Plan 7,fly car,Rolls of gauze,7,each,mandatory
Plan 7,ambulance,Strong medicine,3,vial,mandatory
Plan 7,ambulance,Collars,1,each,mandatory
Plan 7,,Flag,1,each,optional
Plan 7,ambulance,Glass jar,1,each,
"""
TIES = {
    "Tourniquet for limbs": "tourniquet",
    "Rolls of gauze": "gauze-roll",
    "Strong medicine": "midazolam",
    "Collars": "collar",
}

pytestmark = pytest.mark.django_db


@pytest.fixture
def needs() -> None:
    """Three that the practice rig's items tie to by name, and one that is merely suggested."""
    rows = [
        ("tourniquet", "Tourniquet", BLEEDING),
        ("gauze-roll", "Gauze roll", BLEEDING),
        ("midazolam", "Midazolam", MEDICINES),
        ("collar", "Collar for the neck", "immobilisation"),
    ]
    for key, name, kind in rows:
        Need.objects.create(key=key, name_us=name, name_intl=name, category=kind)


@pytest.fixture
def page(needs: None, rig: Rig, client_of: ClientOf, keeper: Person) -> Client:
    """The keeper's browser, with the practice rig in force."""
    return client_of(keeper)


@pytest.fixture
def county(page: Client, keeper: Person) -> RequiredList:
    """The list as it came in, tied but for the jar; no need answers the flag."""
    taken(FILE, by=keeper)
    for item, needs in TIES.items():
        RequiredRow.objects.filter(item=item).update(needs=needs, decided_at=NOW, decided_by=keeper)
    RequiredRow.objects.filter(item="Flag").update(decided_at=NOW, note="Not stocked.")
    return RequiredList.objects.get()


def taken(text: str, *, by: Person, name: str = "County plan") -> None:
    seen = plan_list(name, text.encode()).fingerprint
    actions.take_list(name, text.encode(), seen=seen, by=by, now=NOW)


def sent(text: str, name: str = "County plan", file: str = "plan.csv") -> dict[str, Any]:
    return {"name": name, "rows": SimpleUploadedFile(file, text.encode())}


def hidden(content: str) -> dict[str, str]:
    """What the page sends back when the list is to be stored."""
    form = content.partition(f'action="{TAKE}"')[2].partition("</form>")[0]
    return dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))


def text_of(response: Any) -> str:
    content: str = response.content.decode()
    return content


def seen_in(found: str, row: int) -> str:
    """The mark that the page sends back for a row."""
    (mark,) = re.findall(rf'name="seen-{row}" value="([^"]*)"', found)
    return str(mark)


def number(item: str, level: str = "ambulance") -> int:
    return RequiredRow.objects.get(item=item, level=level).pk


def box_of_gauze(holds: int, *, by: Person) -> None:
    """The gauze of the practice rig comes in boxes of so many rolls."""
    ItemTerms.objects.filter(item__key="gauze roll").update(unit="box")
    item = Item.objects.get(key="gauze roll")
    actions.count_pack(item, need="gauze-roll", unit="box", holds=holds, by=by, now=NOW)


class TestLoading:
    @pytest.mark.parametrize("headers", [{}, FRAGMENT])
    def test_what_it_changes_is_shown_before_anything_is_stored(
        self, page: Client, headers: dict[str, str]
    ) -> None:
        response = page.post(LISTS, sent(FILE), headers=headers)

        found = text_of(response)
        assert response.status_code == 200
        assert ("<html" in found) is not bool(headers)
        assert "<b>7</b> added, <b>0</b> changed, <b>0</b> removed" in found
        assert not RequiredList.objects.exists()

        response = page.post(TAKE, hidden(found), headers=headers)

        where = response["HX-Redirect"] if headers else response["Location"]
        assert where == COUNTY
        assert RequiredRow.objects.filter(of__slug="county-plan").count() == 7
        assert AuditEntry.objects.get(action="load required list").subject == "county-plan"

    def test_every_problem_is_shown_and_nothing_is_stored(self, page: Client) -> None:
        bad = FILE.replace(",3,each", ",2-4,each").replace("Plan 7,fly car", ",fly car")

        response = page.post(LISTS, sent(bad))

        found = text_of(response)
        assert response.status_code == 422
        assert "2 problems" in found
        assert escape('"2-4"') in found
        assert "Store it" not in found

    def test_a_file_with_problems_cannot_be_taken_past_the_page(self, page: Client) -> None:
        bad = FILE.replace(",3,each", ",2-4,each")
        content = base64.b64encode(bad.encode()).decode()
        seen = plan_list("County plan", bad.encode()).fingerprint

        response = page.post(TAKE, {"name": "County plan", "content": content, "seen": seen})

        assert response.status_code == 422
        assert not RequiredList.objects.exists()

    def test_a_list_that_changed_meanwhile_is_shown_anew(
        self, page: Client, keeper: Person
    ) -> None:
        again = hidden(text_of(page.post(LISTS, sent(FILE))))
        taken(FILE.replace("Glass jar", "Tin jar"), by=keeper)

        response = page.post(TAKE, again)

        found = text_of(response)
        assert response.status_code == 422
        assert "Somebody changed the list since this was shown" in found
        assert "<b>1</b> added, <b>0</b> changed, <b>1</b> removed" in found
        assert RequiredRow.objects.filter(item="Tin jar").exists()

    def test_the_same_file_again_changes_nothing(self, county: RequiredList, page: Client) -> None:
        found = text_of(page.post(LISTS, sent(FILE)))

        assert "There is nothing to store." in found
        assert "Store it" not in found

    def test_a_list_loaded_again_keeps_the_ties_that_still_hold(
        self, county: RequiredList, page: Client, keeper: Person
    ) -> None:
        changed = (
            FILE.replace("limbs,3,each", "limbs,4,each")
            .replace("gauze,7,each", "gauze,7,box")
            .replace("Plan 7,ambulance,Glass jar,1,each,\n", "")
        )

        found = text_of(page.post(LISTS, sent(changed)))
        page.post(TAKE, hidden(found))

        assert "<b>0</b> added, <b>3</b> changed, <b>1</b> removed" in found
        assert "2 changed rows lose their ties" in found
        ties = RequiredRow.objects.values_list("item", "level", "needs", "decided_by__name")
        assert set(ties) == {
            ("Tourniquet for limbs", "ambulance", "tourniquet", "Kay Keeper"),
            ("Rolls of gauze", "ambulance", "", None),
            ("Rolls of gauze", "fly car", "", None),
            ("Strong medicine", "ambulance", "midazolam", "Kay Keeper"),
            ("Collars", "ambulance", "collar", "Kay Keeper"),
            ("Flag", "", "", None),
        }
        assert RequiredRow.objects.get(item="Flag").note == "Not stocked."

    def test_a_downloaded_list_brings_its_ties_along_under_another_name(
        self, county: RequiredList, page: Client
    ) -> None:
        file = page.get(reverse("rigs:required_file", args=["county-plan"])).content.decode("utf-8")

        page.post(TAKE, hidden(text_of(page.post(LISTS, sent(file, name="Ours")))))

        ours = RequiredRow.objects.filter(of__slug="ours").order_by("order")
        theirs = RequiredRow.objects.filter(of=county).order_by("order")
        told = ("level", "item", "quantity", "unit", "obligation", "needs")
        assert list(ours.values_list(*told)) == list(theirs.values_list(*told))
        assert set(ours.filter(decided_at=None).values_list("item", flat=True)) == {"Glass jar"}

    def test_a_fault_while_storing_leaves_the_list_as_it_was(
        self, county: RequiredList, keeper: Person, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        before = list(RequiredRow.objects.values())

        def fail(*_: object, **__: object) -> None:
            raise OSError("the disk is full")

        monkeypatch.setattr("drills.rigs.actions.required.record", fail)
        with pytest.raises(OSError, match="full"):
            taken(FILE.replace("Glass jar", "Tin jar"), by=keeper)

        assert list(RequiredRow.objects.values()) == before

    @pytest.mark.parametrize(
        ("given", "said"),
        [
            (sent(FILE, name=" "), "A list needs a name."),
            (sent(FILE, name="take"), "“take” came in. A name with letters"),
            (sent(FILE, name="—"), "“—” came in. A name with letters"),
            (sent(FILE, name="x" * 81), "At most 80 characters"),
            (sent(FILE, name="Sample: county"), "“Sample: county” came in. Names that begin"),
            (sent(FILE, name="A sample"), "“A sample” is a sample"),
            (sent(FILE, file="plan.xlsx"), "plan.xlsx came in. A CSV file is read"),
            (sent(""), "The file is empty."),
            ({"name": "County"}, "No file came in."),
            (sent("x" * (1024 * 1024 + 1)), "1.0 MB came in. At most 1 MB is read."),
        ],
    )
    def test_what_is_no_list_is_named(self, page: Client, given: dict[str, Any], said: str) -> None:
        RequiredList.objects.create(slug="a-sample", name="A sample", is_sample=True, loaded_at=NOW)
        for each in given.values():
            if not isinstance(each, str):
                each.seek(0)

        response = page.post(LISTS, given)

        assert response.status_code == 422
        assert escape(said) in text_of(response)


def test_a_revision_to_come_is_judged_from_the_lists(
    county: RequiredList, page: Client, rig: Rig
) -> None:
    Revision.objects.filter(pk=rig.revision.pk).update(state=RevisionState.COMING)

    assert f'href="{JUDGED}"' in text_of(page.get(LISTS))


class TestTying:
    def test_rows_that_ask_the_same_are_decided_together(
        self, page: Client, keeper: Person
    ) -> None:
        taken(FILE, by=keeper)
        found = text_of(page.get(COUNTY))

        assert "7 rows" in found
        assert found.count("<legend><b>Rolls of gauze</b>") == 1
        assert "ambulance; fly car" in found
        assert f'name="tie-{number("Rolls of gauze")}" value="gauze-roll"' in found

    def test_many_are_decided_in_one_send(self, page: Client, keeper: Person) -> None:
        taken(FILE, by=keeper)

        response = page.post(
            COUNTY,
            {
                f"tie-{number('Rolls of gauze')}": "gauze-roll",
                f"holds-{number('Rolls of gauze')}": "10",
                f"tie-{number('Flag', '')}": "*none",
                f"note-{number('Flag', '')}": "Not stocked.",
                f"need-{number('Strong medicine')}": "Midazolam >= 2 or tourniquet; collar",
                f"tie-{number('Collars')}": "",
            },
            follow=True,
        )

        assert "4 rows decided." in text_of(response)
        decided = RequiredRow.objects.exclude(decided_at=None)
        assert set(decided.values_list("item", "level", "needs", "note")) == {
            ("Rolls of gauze", "ambulance", "gauze-roll (one is 10)", ""),
            ("Rolls of gauze", "fly car", "gauze-roll (one is 10)", ""),
            ("Flag", "", "", "Not stocked."),
            ("Strong medicine", "ambulance", "midazolam >= 2 or tourniquet; collar", ""),
        }
        assert AuditEntry.objects.filter(action="tie required row").count() == 4

    @pytest.mark.parametrize(
        ("fields", "said"),
        [
            ({"tie": "no-such"}, "“no-such” came in."),
            ({"tie": "*other"}, "Another need was chosen and none named."),
            ({"tie": "collar", "need": "tourniquet"}, "Two answers came in"),
            ({"need": "a <b>"}, "“a <b>” came in."),
            ({"need": "collar >= 0"}, "“0” came in."),
            ({"need": "collar; tourniquet", "holds": "3"}, "“3” came in for several needs."),
            ({"tie": "collar", "holds": "1.5"}, "“1.5” came in"),
            ({"tie": "collar", "holds": "0"}, "“0” came in"),
            ({"tie": "", "holds": "100"}, "“100” came in without a choice."),
            ({"tie": "", "note": "Not stocked."}, "“Not stocked.” came in without a choice."),
        ],
    )
    def test_what_makes_no_sense_is_named_and_nothing_is_stored(
        self, page: Client, keeper: Person, fields: dict[str, str], said: str
    ) -> None:
        taken(FILE, by=keeper)
        sent_in = {f"{kind}-{number('Collars')}": value for kind, value in fields.items()}

        response = page.post(COUNTY, sent_in | {f"tie-{number('Flag', '')}": "*none"})

        assert response.status_code == 422
        assert escape(said) in text_of(response)
        assert not RequiredRow.objects.exclude(decided_at=None).exists()

    def test_sending_nothing_asks_for_something(self, county: RequiredList, page: Client) -> None:
        response = page.post(COUNTY, {f"tie-{number('Glass jar')}": ""})

        assert response.status_code == 422
        assert "Nothing is chosen yet." in text_of(response)

    def test_a_row_of_another_list_is_not_decided_here(
        self, county: RequiredList, page: Client, keeper: Person
    ) -> None:
        taken(FILE, by=keeper, name="Other")
        other = RequiredRow.objects.get(of__slug="other", item="Glass jar")

        response = page.post(COUNTY, {f"tie-{other.pk}": "collar"})

        assert response.status_code == 422
        assert f"“tie-{other.pk}” came in." in text_of(response)
        assert RequiredRow.objects.get(pk=other.pk).decided_at is None

    def test_a_decision_can_be_taken_again(self, county: RequiredList, page: Client) -> None:
        collars = number("Collars")
        again = text_of(page.get(COUNTY, {"again": collars}))

        assert f'name="tie-{collars}"' not in text_of(page.get(COUNTY))
        assert f'name="tie-{collars}"' in again
        page.post(
            COUNTY, {f"tie-{collars}": "tourniquet", f"seen-{collars}": seen_in(again, collars)}
        )
        assert RequiredRow.objects.get(pk=collars).needs == "tourniquet"

    def test_what_another_keeper_decided_meanwhile_is_asked_again(
        self, county: RequiredList, page: Client, keeper: Person
    ) -> None:
        jar = number("Glass jar")
        mine = {f"tie-{jar}": "tourniquet", f"seen-{jar}": seen_in(text_of(page.get(COUNTY)), jar)}
        RequiredRow.objects.filter(pk=jar).update(needs="collar", decided_at=NOW, decided_by=keeper)

        asked = page.post(COUNTY, mine)

        assert asked.status_code == 422
        assert "Decided since this was shown: collar." in text_of(asked)
        assert RequiredRow.objects.get(pk=jar).needs == "collar"
        page.post(COUNTY, mine | {f"seen-{jar}": seen_in(text_of(asked), jar)})
        assert RequiredRow.objects.get(pk=jar).needs == "tourniquet"

    def test_a_sample_is_tied_as_it_came(self, county: RequiredList, page: Client) -> None:
        RequiredList.objects.update(is_sample=True)

        response = page.post(COUNTY, {f"tie-{number('Glass jar')}": "collar"})

        assert response.status_code == 422
        assert "A sample is tied as it came." in text_of(response)
        assert "Waiting <span>" not in text_of(response)
        assert RequiredRow.objects.get(item="Glass jar").decided_at is None


class TestJudging:
    def test_each_row_stands_as_the_layout_says(self, county: RequiredList, rig: Rig) -> None:
        found = judgement_of(county, rig.revision, ["ambulance"])

        assert {each.row.item: each.judged.state for each in found.rows} == {
            "Tourniquet for limbs": "met",
            "Rolls of gauze": "short",
            "Strong medicine": "short",
            "Collars": "missing",
            "Flag": "not tied",
            "Glass jar": "not tied",
        }
        assert found.counts == [
            ("asked for", [("met", 1), ("short", 2), ("missing", 1), ("not tied", 1)]),
            ("optional", [("met", 0), ("short", 0), ("missing", 0), ("not tied", 1)]),
        ]

    @pytest.mark.parametrize("headers", [{}, FRAGMENT])
    def test_the_page_tells_what_is_short_before_what_is_met(
        self, county: RequiredList, page: Client, headers: dict[str, str]
    ) -> None:
        found = text_of(page.get(JUDGED, headers=headers))

        order = ("<h2>Missing", "<h2>Short", "<h2>Not tied", "<h2>Met", "<h2>Optional, not tied")
        places = [found.index(each) for each in order]
        assert places == sorted(places)
        assert "Gauze roll: short<span> by <b>1</b></span>" in found
        assert "met if the suggested tie is confirmed" in found
        assert '<span class="tag">suggested, not counted</span> <span>Neck collar' in found
        assert "1 more would be met" in found
        assert "no need answers it: look yourself" in found
        assert "waits for its keeper" in found
        assert "not said whether mandatory" in found
        assert "S1 Main pocket: 2; I1 Upper drawer: 1" in found
        assert "no certificate" in found
        assert ("<html" in found) is not bool(headers)

    def test_a_factor_turns_ours_into_theirs(
        self, county: RequiredList, rig: Rig, page: Client
    ) -> None:
        RequiredRow.objects.filter(item="Rolls of gauze").update(
            quantity=61, needs="gauze-roll (one is 10)"
        )

        found = text_of(page.get(JUDGED))

        assert "short<span> by <b>1</b></span></p>" in found
        assert "one of ours counts as 10" in found

    @pytest.mark.parametrize(
        ("wanted", "asked", "state"),
        [
            ("gauze-roll", 7, "short"),
            ("gauze-roll", 6, "met"),
            ("gauze-roll (one is 10)", 61, "short"),
            ("gauze-roll (one is 10)", 60, "met"),
        ],
    )
    def test_units_that_differ_are_pointed_out_however_the_row_stands(
        self, county: RequiredList, page: Client, wanted: str, asked: int, state: str
    ) -> None:
        ItemTerms.objects.filter(item__key="gauze roll").update(unit="box")
        RequiredRow.objects.filter(item="Rolls of gauze").update(quantity=asked, needs=wanted)

        found = text_of(page.get(JUDGED)).partition(f"<h2>{state.capitalize()}")[2]

        assert "the list counts in each, the layout in box" in found.partition("</section>")[0]

    def test_a_factor_of_one_unit_never_meets_a_row_carried_in_two(
        self, county: RequiredList, page: Client
    ) -> None:
        RequiredRow.objects.filter(item="Rolls of gauze").update(
            quantity=50, needs="gauze-roll (one is 10)"
        )
        terms = ItemTerms.objects
        terms.filter(item__key="gauze roll").update(unit="box")
        roll = Need.objects.get(key="gauze-roll")
        terms.filter(item__key="tourniquet").update(unit="pair", need=roll)

        found = text_of(page.get(JUDGED))

        short = found.partition("<h2>Short")[2].partition("</section>")[0]
        assert "Gauze roll: not counted: it is carried in box and pair" in short
        file = page.get(reverse("rigs:judgement_file", args=["practice-rig", 1]))
        assert (
            "Gauze roll: look, it is carried in several units or in packs" in file.content.decode()
        )

    @pytest.mark.parametrize(("asked", "state"), [(61, "short"), (60, "met")])
    def test_a_pack_counts_as_what_it_holds(
        self, county: RequiredList, page: Client, keeper: Person, asked: int, state: str
    ) -> None:
        box_of_gauze(10, by=keeper)
        RequiredRow.objects.filter(item="Rolls of gauze").update(quantity=asked, needs="gauze-roll")

        found = text_of(page.get(JUDGED)).partition(f"<h2>{state.capitalize()}")[2]

        assert "Gauze roll, par 6 box of 10, 60 in all" in found.partition("</section>")[0]
        file = page.get(reverse("rigs:judgement_file", args=["practice-rig", 1]))
        assert "Gauze roll, par 6 of 10, 60 in all: I1" in file.content.decode()

    def test_a_pack_is_never_counted_out_twice(
        self, county: RequiredList, page: Client, keeper: Person
    ) -> None:
        """Once on the ties page and once in the list: nobody knows which of the two was meant."""
        box_of_gauze(10, by=keeper)
        RequiredRow.objects.filter(item="Rolls of gauze").update(
            quantity=50, needs="gauze-roll (one is 10)"
        )

        found = text_of(page.get(JUDGED))

        short = found.partition("<h2>Short")[2].partition("</section>")[0]
        assert "Gauze roll: not counted: a pack is counted out on the ties page" in short

    def test_what_to_confirm_is_named_with_where_it_lies(
        self, county: RequiredList, page: Client
    ) -> None:
        RequiredRow.objects.filter(item="Collars").update(needs="gauze-roll >= 99 or collar")

        found = text_of(page.get(JUDGED))

        assert "met if the suggested tie is confirmed: Collar for the neck" in found
        assert "<span>Neck collar" in found

    def test_levels_are_chosen_and_a_row_without_one_belongs_to_each(
        self, county: RequiredList, page: Client
    ) -> None:
        car = text_of(page.get(JUDGED, {"list": "county-plan", "level": "fly car"}))
        both = text_of(page.get(JUDGED, {"level": ["fly car", "ambulance"]}))

        assert "Rolls of gauze" in car
        assert "Collars" not in car
        assert "Flag" in car
        assert both.count("<b>Rolls of gauze</b>") == 2
        assert both.count("<b>Flag</b>") == 1

    def test_a_level_that_is_not_there_shows_the_first(
        self, county: RequiredList, page: Client
    ) -> None:
        assert "Collars" in text_of(page.get(JUDGED, {"level": "spaceship"}))

    def test_the_agencys_own_list_goes_before_samples(
        self, county: RequiredList, page: Client
    ) -> None:
        RequiredList.objects.create(slug="a", name="A sample", is_sample=True, loaded_at=NOW)

        assert "<b>County plan</b>" in text_of(page.get(JUDGED))
        assert page.get(JUDGED, {"list": "nowhere"}).status_code == 404

    def test_without_a_list_the_page_says_so(self, page: Client) -> None:
        assert "No required list is here yet." in text_of(page.get(JUDGED))
        file = reverse("rigs:judgement_file", args=["practice-rig", 1])
        assert page.get(file).status_code == 404

    def test_what_is_behind_a_lock_is_marked_as_not_to_be_printed(
        self, county: RequiredList, page: Client
    ) -> None:
        found = text_of(page.get(JUDGED))

        assert 'Midazolam: short<span class="figure"> by <b>1</b></span>' in found
        assert '<span class="figure">Midazolam, par 2 ' in found
        assert "<span>Gauze roll, par " in found

    def test_the_file_tells_all_but_what_is_behind_a_lock(
        self, county: RequiredList, page: Client
    ) -> None:
        response = page.get(reverse("rigs:judgement_file", args=["practice-rig", 1]))

        head, columns, *rows = csv.reader(response.content.decode("utf-8-sig").splitlines())
        by_item = {row[2]: dict(zip(columns, row, strict=True)) for row in rows}
        assert head[:4] == ["Practice rig, rev. 1", "published", "County plan", "ambulance"]
        assert "no certificate" in head[-1]
        assert [row[0] for row in rows] == [
            *("missing", "short", "short", "not tied", "met", "not tied"),
        ]
        assert by_item["Rolls of gauze"]["short by"] == "Gauze roll: 1"
        assert "Upper drawer" in by_item["Rolls of gauze"]["where"]
        assert by_item["Collars"]["where"] == ""
        locked = by_item["Strong medicine"]
        assert (locked["state"], locked["carried"]) == ("short", "behind a lock, not exported")
        assert "Locked drawer" not in response.content.decode()

    def test_crew_may_read_it_and_are_not_led_to_it(
        self, county: RequiredList, client_of: ClientOf, hire: Person, educator: Person
    ) -> None:
        layout = reverse("rigs:layout", args=["practice-rig"])

        assert "Rolls of gauze" in text_of(client_of(hire).get(JUDGED))
        assert JUDGED not in text_of(client_of(hire).get(layout))
        for person in (educator, *Person.objects.filter(employee_number="KEEPER")):
            assert JUDGED in text_of(client_of(person).get(layout))
            assert LISTS in text_of(client_of(person).get(reverse("rigs:index")))

    def test_many_rows_are_judged_in_few_questions_to_the_database(
        self, county: RequiredList, page: Client, django_assert_max_num_queries: NumQueries
    ) -> None:
        RequiredRow.objects.bulk_create(
            RequiredRow(
                of=county, order=100 + n, source="Plan 7", level="ambulance", item=f"Thing {n}"
            )
            for n in range(200)
        )
        page.get(JUDGED)

        with django_assert_max_num_queries(16):
            page.get(JUDGED)
        with django_assert_max_num_queries(10):
            page.get(COUNTY)


def test_the_samples_load_twice_and_stay_the_same() -> None:
    call_command("loaddata", "required_lists.json", verbosity=0)
    before = RequiredRow.objects.count()
    call_command("loaddata", "required_lists.json", verbosity=0)

    assert RequiredRow.objects.count() == before == 348
    assert not RequiredRow.objects.filter(decided_at=None).exists()
    assert RequiredList.objects.filter(is_sample=True).count() == 10


def test_a_list_that_came_later_is_not_what_was_seen(page: Client, keeper: Person) -> None:
    """The moment of a decision counts as well: two keepers who tie are told."""
    taken(FILE, by=keeper)
    before = plan_list("County plan", FILE.encode()).fingerprint
    RequiredRow.objects.filter(item="Collars").update(decided_at=NOW + timedelta(days=1))

    assert plan_list("County plan", FILE.encode()).fingerprint != before


def test_what_is_noted_of_a_sample_row_has_room_for_its_whole_name() -> None:
    """The longest name that a row may have is noted when a release brings it in."""
    longest = LIST_NAME_LENGTH + WORD_LENGTH + ITEM_LENGTH + len("//")

    ReferenceRow(table="rigs.requiredrow", key="x" * longest, checksum="x").full_clean()
