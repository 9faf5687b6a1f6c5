"""Places that come under another code: the keeper says which are the same as before."""

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from drills.engine.layout import Layout as EngineLayout
from drills.engine.workbook import to_xlsx
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout, keep_places, publish_revision, undo_step
from drills.rigs.differences import asked_of, difference
from drills.rigs.models import Place, Revision, Rig
from drills.rigs.reading import layout_of
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

IMPORT = reverse("rigs:import")
URL = reverse("rigs:keep_places", args=["practice-rig", 2])


def recoded(**codes: str) -> EngineLayout:
    """The practice rig as it comes in where somebody gave places other codes, and no keys."""
    rig = practice_rig()
    return replace(
        rig,
        compartments=tuple(
            replace(
                each,
                code=codes.get(each.code, each.code),
                inside=codes.get(each.inside, each.inside),
            )
            for each in rig.compartments
        ),
        stock=tuple(
            replace(each, compartment=codes.get(each.compartment, each.compartment))
            for each in rig.stock
        ),
        points=tuple(
            replace(each, serves=tuple(codes.get(code, code) for code in each.serves))
            for each in rig.points
        ),
    )


RECODED = recoded(I1A="Z1", S1A="Z2")


def said_of(response: object) -> str:
    content = response.content.decode()  # type: ignore[attr-defined]  # a response of the client
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", content)).split())


def whats(draft: Revision) -> list[tuple[str, str]]:
    found = difference(draft.before, draft, today=NOW.date()).changes
    return [(each.what, each.name) for each in found]


@pytest.fixture
def draft(rig: Rig, keeper: Person) -> Revision:
    return import_layout(RECODED, by=keeper, now=NOW)


class TestAction:
    def test_an_answered_place_is_renamed_and_nothing_of_it_is_new(
        self, draft: Revision, keeper: Person
    ) -> None:
        assert {what for what, _ in whats(draft)} == {"added", "removed", "moved"}

        kept = keep_places(draft, {"Z1": "I1A", "Z2": "S1A"}, by=keeper, now=NOW)

        assert whats(kept) == [("renamed", "Lower shelf"), ("renamed", "Upper drawer")]
        assert asked_of(kept) == ()
        assert kept.compartments.get(code="Z1").place.key == "I1A"

    def test_the_key_it_had_as_a_new_place_is_forgotten(
        self, draft: Revision, keeper: Person
    ) -> None:
        keep_places(draft, {"Z1": "I1A"}, by=keeper, now=NOW)

        assert not Place.objects.filter(key="Z1").exists()
        assert Place.objects.filter(key="Z2").exists()

    def test_it_is_written_down_and_can_be_undone(self, draft: Revision, keeper: Person) -> None:
        before = layout_of(draft)

        keep_places(draft, {"Z1": "I1A"}, by=keeper, now=NOW)

        entry = AuditEntry.objects.latest("pk")
        assert (entry.action, entry.subject, entry.actor, entry.after) == (
            *("keep places", "practice-rig 2", keeper),
            {"Z1": "I1A"},
        )
        undo_step(draft.layout, 1, by=keeper, now=NOW)
        assert layout_of(draft) == before

    def test_one_answer_that_cannot_be_stores_none(self, draft: Revision, keeper: Person) -> None:
        before, told = layout_of(draft), AuditEntry.objects.count()

        with pytest.raises(ValueError, match="S1 came in for Z2; in this draft it is S1 already"):
            keep_places(draft, {"Z1": "I1A", "Z2": "S1"}, by=keeper, now=NOW)

        assert layout_of(draft) == before
        assert AuditEntry.objects.count() == told

    def test_what_is_published_stays_as_it_is(self, draft: Revision, keeper: Person) -> None:
        publish_revision(draft, by=keeper, now=NOW)

        with pytest.raises(ValueError, match="is published already"):
            keep_places(draft, {"Z1": "I1A"}, by=keeper, now=NOW)

    def test_no_answer_is_no_step(self, draft: Revision, keeper: Person) -> None:
        told = AuditEntry.objects.count()

        keep_places(draft, {}, by=keeper, now=NOW)

        assert AuditEntry.objects.count() == told
        assert draft.steps.count() == 0

    def test_the_answer_holds_when_the_workbook_is_mended_and_sent_again(
        self, draft: Revision, keeper: Person
    ) -> None:
        keep_places(draft, {"Z1": "I1A", "Z2": "S1A"}, by=keeper, now=NOW)

        again = import_layout(replace(RECODED, notes="mended"), by=keeper, now=NOW)

        assert again.notes == "mended"
        assert asked_of(again) == ()
        assert again.compartments.get(code="Z1").place.key == "I1A"

    def test_an_old_code_that_comes_back_takes_its_place_from_the_answer(
        self, draft: Revision, keeper: Person
    ) -> None:
        keep_places(draft, {"Z1": "I1A", "Z2": "S1A"}, by=keeper, now=NOW)

        again = import_layout(recoded(S1A="Z2"), by=keeper, now=NOW)

        keys = dict(again.compartments.values_list("code", "place__key"))
        assert (keys["I1A"], keys["Z2"]) == ("I1A", "S1A")

    def test_from_then_on_the_new_code_is_known(self, draft: Revision, keeper: Person) -> None:
        keep_places(draft, {"Z1": "I1A", "Z2": "S1A"}, by=keeper, now=NOW)
        publish_revision(draft, by=keeper, now=NOW)

        assert import_layout(RECODED, by=keeper, now=NOW).pk == draft.pk


class TestPage:
    def test_asks_of_each_new_place_with_the_likely_one_first(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        page = client_of(keeper).get(IMPORT).content.decode()

        asked = re.findall(r'name="code" value="(.*?)".*?</select>', page, re.DOTALL)
        first = re.findall(r'</option>\s*<option value="(.*?)">(.*?)</option>', page)
        assert set(asked) == {"Z1", "Z2"}
        likely = dict(zip(asked, first[:: len(first) // 2], strict=True))
        assert likely["Z1"] == (
            "I1A",
            "likely I1A Upper drawer, in I1 Wall cabinet: 2 of its 2 items are here, same face",
        )
        assert "2 places count as new while others are gone." in said_of(
            client_of(keeper).get(IMPORT)
        )

    def test_asks_nothing_where_nothing_is_new(
        self, client_of: ClientOf, keeper: Person, rig: Rig
    ) -> None:
        import_layout(replace(practice_rig(), notes="new"), by=keeper, now=NOW)

        assert "New, or the same place?" not in client_of(keeper).get(IMPORT).content.decode()

    def test_an_answer_changes_what_is_shown(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        client = client_of(keeper)

        said = said_of(client.post(URL, {"code": ["Z1", "Z2"], "key": ["I1A", "S1A"]}, follow=True))

        assert "2 places are the same. What people know of them stays." in said
        assert "renamed" in said
        assert "removed" not in said
        assert "0 facts to learn anew" in said

    def test_nothing_chosen_leaves_all_of_them_new(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        said = said_of(
            client_of(keeper).post(URL, {"code": ["Z1", "Z2"], "key": ["", ""]}, follow=True)
        )

        assert "Nothing was chosen, so all of them count as new." in said

    def test_what_cannot_be_is_said_and_changes_nothing(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        response = client_of(keeper).post(URL, {"code": ["Z1", "Z2"], "key": ["I1A", "I1A"]})

        assert response.status_code == 422
        assert "I1A came in for Z1 and for Z2. It can be one of them alone. Nothing is" in said_of(
            response
        )
        assert len(asked_of(draft)) == 2

    def test_what_was_answered_stands_there_when_it_is_refused(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        response = client_of(keeper).post(URL, {"code": ["Z1", "Z2"], "key": ["S1A", "S1A"]})

        asked = response.content.decode().split('name="code" value="')[1:]
        chosen = {said[:2]: re.findall(r'<option value="(\w+)" selected', said) for said in asked}
        assert chosen == {"Z1": ["S1A"], "Z2": ["S1A"]}

    def test_publishing_with_open_questions_says_so(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        publish = reverse("rigs:publish", args=["practice-rig", 2])

        said = said_of(client_of(keeper).post(publish, follow=True))

        assert (
            "2 places count as new; what people know of the old ones is not carried over." in said
        )

    def test_tells_htmx_where_to_go(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        response = client_of(keeper).post(URL, {"code": "Z1", "key": "I1A"}, headers=FRAGMENT)

        assert response["HX-Redirect"] == IMPORT

    def test_is_for_keepers_alone(self, client_of: ClientOf, hire: Person, draft: Revision) -> None:
        response = client_of(hire).post(URL, {"code": "Z1", "key": "I1A"})

        assert response.status_code == 403
        assert len(asked_of(draft)) == 2

    def test_is_nothing_for_a_stranger(self, draft: Revision) -> None:
        assert Client().post(URL)["Location"].startswith(reverse("people:sign_in"))


def test_the_command_says_which_places_count_as_new(
    rig: Rig, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "rig.xlsx"
    path.write_bytes(to_xlsx(RECODED))

    call_command("import_layout", str(path), "--publish")

    told = capsys.readouterr().err
    assert (
        "Z1 Upper drawer, in I1 Wall cabinet counts as new; what people know of I1A Upper drawer, "
        "in I1 Wall cabinet, the likeliest of 2 that are gone, is not carried over." in told
    )
    rig.refresh_from_db()
    assert rig.revision.number == 2
