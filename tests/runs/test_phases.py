"""Phases of a new hire: what the agency writes, who is in which, what is shown, daily notes."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import PersonFactory
from drills.people.models import AuditEntry, Pairing, Person, Role, RoleGrant
from drills.rigs.models import Layout, Rig
from drills.runs.actions.phases import (
    Item,
    PhaseError,
    add_phase,
    change_phase,
    drop_phase,
    place_in_phase,
    say_shown,
    write_note,
)
from drills.runs.models import (
    DailyNote,
    ItemShown,
    Phase,
    PhaseItem,
    PhaseSpell,
    SignOff,
)
from tests.runs.conftest import NOW, ClientOf

pytestmark = pytest.mark.django_db

TODAY = NOW.date()
RADIO = Item(None, "Says the radio check")


@pytest.fixture
def phase(educator: Person) -> Phase:
    """A phase with one thing to be said shown, and one for a sign-off."""
    made = add_phase("Looking on", by=educator, now=NOW)
    rows = [RADIO, Item(None, "Brings the airway kit", "airway")]
    return change_phase(made, name="Looking on", about="", items=rows, by=educator, now=NOW)


@pytest.fixture
def officer(fto: Person, client_of: ClientOf) -> Client:
    return client_of(fto)


def note(person: Person, by: Person, **other: Any) -> DailyNote:
    said: dict[str, Any] = {"went_well": "Calm", "work_on": "", "next_step": "", "day": TODAY}
    return write_note(person, **said | other, by=by, today=TODAY, now=NOW)


def page(client: Client, number: str = "HIRE") -> str:
    response = client.get(reverse("runs:training", args=[number]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


class TestWriting:
    def test_phases_stand_in_their_order(self, educator: Person) -> None:
        for name in ("Looking on", " Hands on "):
            add_phase(name, by=educator, now=NOW)

        assert [str(each) for each in Phase.objects.all()] == [
            "Phase 1: Looking on",
            "Phase 2: Hands on",
        ]

    def test_a_row_that_stays_keeps_what_was_shown_of_it(
        self, phase: Phase, hire: Person, fto: Person, educator: Person
    ) -> None:
        radio, airway = phase.items.all()
        say_shown(radio, hire, is_shown=True, by=fto, today=TODAY, now=NOW)
        rows = [Item(airway.pk, "Airway", "airway"), Item(radio.pk, "Says it twice")]

        change_phase(phase, name="First", about="Watch", items=rows, by=educator, now=NOW)

        assert [(row.pk, row.words) for row in phase.items.all()] == [
            (airway.pk, "Airway"),
            (radio.pk, "Says it twice"),
        ]
        assert ItemShown.objects.get().item == radio

    def test_what_it_was_stays_in_the_audit(self, phase: Phase, educator: Person) -> None:
        change_phase(phase, name="First", about="", items=[], by=educator, now=NOW)

        line = AuditEntry.objects.filter(action="change phase").latest("pk")
        assert (line.before or {})["shows"] == [
            "Says the radio check",
            "Brings the airway kit, airway",
        ]
        assert (line.after or {}) == {"name": "First", "about": "", "shows": []}

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"name": " "}, "Name: 0 letters came in; 1 to 60"),
            ({"about": "x" * 601}, "About: 601 letters came in; 0 to 600"),
            ({"items": [Item(None, "x" * 161)]}, "What it must show: 161 letters"),
            ({"items": [Item(987_654, "Gone")]}, "A row came in that is gone"),
        ],
    )
    def test_what_cannot_be_is_refused_whole(
        self, phase: Phase, educator: Person, change: dict[str, Any], words: str
    ) -> None:
        given: dict[str, Any] = {"name": "New", "about": "", "items": [RADIO], **change}

        with pytest.raises(PhaseError, match=words):
            change_phase(phase, **given, by=educator, now=NOW)
        assert Phase.objects.get().name == "Looking on"
        assert phase.items.count() == 2

    def test_a_layout_counts_for_a_category_alone(
        self, phase: Phase, educator: Person, rig: Rig
    ) -> None:
        with pytest.raises(PhaseError, match="came in without a category"):
            change_phase(
                phase,
                name="New",
                about="",
                items=[Item(None, "Radio", "", rig.layout)],
                by=educator,
                now=NOW,
            )
        with pytest.raises(IntegrityError):
            PhaseItem.objects.create(phase=phase, order=9, words="x", layout=rig.layout)

    def test_the_last_phase_goes_while_nobody_was_in_it(
        self, phase: Phase, educator: Person, hire: Person, fto: Person
    ) -> None:
        second = add_phase("Hands on", by=educator, now=NOW)
        with pytest.raises(PhaseError, match="others come after it"):
            drop_phase(phase, by=educator, now=NOW)
        drop_phase(second, by=educator, now=NOW)
        place_in_phase(hire, phase, by=fto, today=TODAY, now=NOW)

        with pytest.raises(PhaseError, match="people are or were in it"):
            drop_phase(phase, by=educator, now=NOW)
        assert Phase.objects.get() == phase

    def test_an_officer_writes_no_phase(self, fto: Person) -> None:
        with pytest.raises(PermissionDenied):
            add_phase("Mine", by=fto, now=NOW)


class TestPlacing:
    def test_somebody_is_in_one_phase_at_a_time(
        self, phase: Phase, hire: Person, fto: Person, educator: Person
    ) -> None:
        second = add_phase("Hands on", by=educator, now=NOW)
        later = TODAY + timedelta(days=9)
        place_in_phase(hire, phase, by=fto, today=TODAY, now=NOW)
        place_in_phase(hire, second, by=educator, today=later, now=NOW)

        spells = PhaseSpell.objects.values_list("phase__number", "began_on", "ended_on", "by")
        assert list(spells) == [
            (1, TODAY, later, fto.pk),
            (2, later, None, educator.pk),
        ]
        line = AuditEntry.objects.filter(action="place in phase").latest("pk")
        assert (line.before, line.after) == (
            {"phase": "Phase 1: Looking on"},
            {"phase": "Phase 2: Hands on"},
        )

    def test_the_same_again_changes_nothing(self, phase: Phase, hire: Person, fto: Person) -> None:
        for _ in range(2):
            place_in_phase(hire, phase, by=fto, today=TODAY, now=NOW)

        assert PhaseSpell.objects.count() == 1
        assert AuditEntry.objects.filter(action="place in phase").count() == 1

    def test_the_phases_are_over(self, phase: Phase, hire: Person, fto: Person) -> None:
        place_in_phase(hire, phase, by=fto, today=TODAY, now=NOW)
        place_in_phase(hire, None, by=fto, today=TODAY, now=NOW)

        assert PhaseSpell.objects.get().ended_on == TODAY

    def test_not_twice_in_the_database(self, phase: Phase, hire: Person) -> None:
        PhaseSpell.objects.create(person=hire, phase=phase, began_on=TODAY)

        with pytest.raises(IntegrityError):
            PhaseSpell.objects.create(person=hire, phase=phase, began_on=TODAY)


class TestOfficers:
    """Every act on a person: never of oneself, never of who is not one's own."""

    def acts(self, person: Person, by: Person, phase: Phase) -> list[Any]:
        item = phase.items.get(category="")
        return [
            lambda: place_in_phase(person, phase, by=by, today=TODAY, now=NOW),
            lambda: say_shown(item, person, is_shown=True, by=by, today=TODAY, now=NOW),
            lambda: note(person, by),
        ]

    def test_nobody_does_it_of_themselves(self, phase: Phase, hire: Person) -> None:
        RoleGrant.objects.create(person=hire, role=Role.FTO)
        for act in self.acts(hire, hire, phase):
            with pytest.raises(PhaseError, match="nobody does this of themselves"):
                act()
        assert not PhaseSpell.objects.exists()
        assert not DailyNote.objects.exists()

    def test_nor_of_somebody_who_is_not_theirs(
        self, phase: Phase, outsider: Person, fto: Person
    ) -> None:
        for act in self.acts(outsider, fto, phase):
            with pytest.raises(PhaseError, match="is not paired with you"):
                act()

    def test_nor_without_the_role(self, phase: Phase, hire: Person, outsider: Person) -> None:
        for act in self.acts(hire, outsider, phase):
            with pytest.raises(PermissionDenied):
                act()


class TestShown:
    def test_said_shown_and_taken_back(self, phase: Phase, hire: Person, fto: Person) -> None:
        item = phase.items.get(category="")
        for is_shown in (True, True, False, False):
            say_shown(item, hire, is_shown=is_shown, by=fto, today=TODAY, now=NOW)

        assert not ItemShown.objects.exists()
        acts = AuditEntry.objects.values_list("action", flat=True)
        assert [each for each in acts if "shown" in each] == ["say shown", "take back shown"]

    def test_what_has_a_category_is_shown_by_a_sign_off_alone(
        self, phase: Phase, hire: Person, fto: Person
    ) -> None:
        item = phase.items.get(category="airway")

        with pytest.raises(PhaseError, match="has a category, so a sign-off shows it"):
            say_shown(item, hire, is_shown=True, by=fto, today=TODAY, now=NOW)


class TestNotes:
    def test_a_note_is_of_the_phase_and_is_sent_twice_kept_once(
        self, phase: Phase, hire: Person, fto: Person
    ) -> None:
        place_in_phase(hire, phase, by=fto, today=TODAY, now=NOW)
        for _ in range(2):
            note(hire, fto, went_well=" Calm ")

        kept = DailyNote.objects.get()
        assert (kept.phase, kept.officer, kept.went_well, kept.day) == (phase, fto, "Calm", TODAY)

    def test_it_is_of_the_phase_that_its_day_was_in(
        self, phase: Phase, hire: Person, fto: Person
    ) -> None:
        began, ended = TODAY - timedelta(days=20), TODAY - timedelta(days=10)
        PhaseSpell.objects.create(person=hire, phase=phase, began_on=began, ended_on=ended)

        days = (began - timedelta(days=1), began, ended, ended + timedelta(days=1))
        assert [note(hire, fto, day=day).phase for day in days] == [None, phase, phase, None]

    def test_its_words_are_not_in_the_audit(self, hire: Person, fto: Person) -> None:
        note(hire, fto, went_well="Calm at the doors")

        assert "Calm" not in str(list(AuditEntry.objects.values()))

    @pytest.mark.parametrize(
        ("given", "words"),
        [
            ({"went_well": "  "}, "Nothing came in. Write at least one of the three"),
            ({"work_on": "x" * 601}, "Work on: 601 letters came in"),
            ({"day": date(2026, 11, 26)}, "2026-11-26 came in, which is to come; 2026-11-25 or"),
        ],
    )
    def test_what_cannot_be_is_refused(
        self, hire: Person, fto: Person, given: dict[str, Any], words: str
    ) -> None:
        with pytest.raises(PhaseError, match=words):
            note(hire, fto, **given)
        assert not DailyNote.objects.exists()


class TestPages:
    def test_a_person_reads_what_is_shown_and_what_is_noted_and_can_do_nothing(
        self, phase: Phase, hire: Person, fto: Person, client_of: ClientOf
    ) -> None:
        place_in_phase(hire, phase, by=fto, today=TODAY, now=NOW)
        note(hire, fto, work_on="Closing the shelf")

        own = page(client_of(hire))

        assert '<span class="nw">0 of 2 shown</span>' in own
        assert "Closing the shelf" in own
        assert "releases nobody" in own
        assert "<textarea" not in own
        assert 'name="phase"' not in own

    def test_free_text_says_no_patient_data(self, officer: Client, phase: Phase) -> None:
        assert "No patient data" in page(officer)

    def test_what_an_officer_comes_for_is_a_button(self, officer: Client, phase: Phase) -> None:
        assert '<summary class="plainbtn">Write a note on a day</summary>' in page(officer)

    def test_an_officer_notes_places_and_says_shown(
        self, officer: Client, phase: Phase, hire: Person
    ) -> None:
        item = phase.items.get(category="")
        posts: list[tuple[str, dict[str, Any]]] = [
            ("note", {"day": f"{timezone.localdate():%F}", "went_well": "Calm"}),
            ("place", {"phase": "1"}),
            ("show_item", {"item": item.pk}),
        ]
        for name, given in posts:
            address = reverse(f"runs:{name}", args=["HIRE"])
            assert officer.post(address, given).status_code == 302

        read = page(officer)
        assert '<span class="nw">1 of 2 shown</span>' in read
        assert "<b>Went well:</b> Calm" in read
        back = reverse("runs:show_item", args=["HIRE"])
        officer.post(back, {"item": item.pk, "back": "1"})
        assert '<span class="nw">0 of 2 shown</span>' in page(officer)

    def test_a_note_of_a_made_history_says_that_it_is_simulated(
        self, officer: Client, hire: Person, fto: Person
    ) -> None:
        made = note(hire, fto)
        assert "simulated" not in page(officer)

        DailyNote.objects.filter(pk=made.pk).update(is_simulated=True)

        assert "simulated</small>" in page(officer)

    def test_what_was_typed_stays_where_a_note_is_refused(self, officer: Client) -> None:
        given = {"day": "tomorrow", "work_on": "Closing the shelf"}
        response = officer.post(reverse("runs:note", args=["HIRE"]), given)

        content = response.content.decode()
        assert response.status_code == 422
        assert "&#x27;tomorrow&#x27; came in" in content
        assert "Closing the shelf</textarea>" in content

    def test_who_was_paired_once_sees_it_no_more(self, officer: Client, phase: Phase) -> None:
        Pairing.objects.update(ends_at=timezone.now() - timedelta(days=1))

        assert officer.get(reverse("runs:training", args=["HIRE"])).status_code == 404

    def test_a_sign_off_shows_a_category_while_it_stands(
        self, officer: Client, phase: Phase, hire: Person, rig: Rig
    ) -> None:
        assert "airway: not signed off" in page(officer)
        signed = SignOff.objects.create(
            person=hire,
            revision=rig.revision,
            categories=["airway"],
            seen_at=timezone.now(),
            signed_at=timezone.now(),
        )
        assert "airway: signed off on Practice rig until" in page(officer)

        SignOff.objects.update(seen_at=timezone.now() - timedelta(days=180))

        assert "airway: lapsed on Practice rig" in page(officer)
        other = Layout.objects.create(slug="van")
        PhaseItem.objects.filter(category="airway").update(layout=other)
        SignOff.objects.filter(pk=signed.pk).update(seen_at=timezone.now())
        assert "airway: not signed off on" in page(officer)

    def test_the_way_to_it_stands_on_today_and_on_the_record(
        self, phase: Phase, hire: Person, fto: Person, rig: Rig, client_of: ClientOf
    ) -> None:
        address = reverse("runs:training", args=["HIRE"])
        own = client_of(hire)
        own.post(reverse("rigs:pick", args=[rig.unit]))
        assert address not in own.get(reverse("boards:hire")).content.decode()

        place_in_phase(hire, phase, by=fto, today=TODAY, now=NOW)

        assert address in own.get(reverse("boards:hire")).content.decode()
        record = client_of(fto).get(reverse("boards:person", args=["HIRE"]))
        assert address in record.content.decode()


class TestWritingPages:
    def test_an_educator_writes_a_phase_row_by_row(
        self, educator: Person, rig: Rig, client_of: ClientOf
    ) -> None:
        client = client_of(educator)
        assert client.post(reverse("runs:phases"), {"name": "Looking on"}).status_code == 302
        address = reverse("runs:phase", args=[1])
        given = {
            "name": "First weeks",
            "about": "Watch",
            "words-0": "Brings the\r\n airway kit",
            "category-0": "airway",
            "layout-0": "practice-rig",
            "words-1": " ",
            "words-2": "Says the radio check",
        }

        assert client.post(address, given).status_code == 302

        rows = PhaseItem.objects.values_list("words", "category", "layout__slug")
        assert list(rows) == [
            ("Brings the airway kit", "airway", "practice-rig"),
            ("Says the radio check", "", None),
        ]
        content = client.get(address).content.decode()
        assert ">Says the radio check</textarea>" in content
        assert content.count('name="words-') == 5

    @pytest.mark.parametrize(
        ("given", "words"),
        [
            ({"category-0": "magic"}, "&#x27;magic&#x27; came in. One of airway"),
            ({"category-0": "airway", "layout-0": "boat"}, "there is no layout &#x27;boat&#x27;"),
        ],
    )
    def test_what_was_typed_stays_where_it_is_refused(
        self, phase: Phase, educator: Person, client_of: ClientOf, given: dict[str, str], words: str
    ) -> None:
        typed = {"name": "Other", "about": "", "words-0": "Brings it", **given}
        response = client_of(educator).post(reverse("runs:phase", args=[1]), typed)

        content = response.content.decode()
        assert response.status_code == 422
        assert words in content
        assert ">Brings it</textarea>" in content
        assert Phase.objects.get().name == "Looking on"

    def test_a_phase_in_use_is_not_taken_away(
        self, phase: Phase, hire: Person, fto: Person, educator: Person, client_of: ClientOf
    ) -> None:
        place_in_phase(hire, phase, by=fto, today=TODAY, now=NOW)

        response = client_of(educator).post(reverse("runs:drop_phase", args=[1]))

        assert response.status_code == 422
        assert "people are or were in it" in response.content.decode()


def test_somebody_who_is_no_person_of_the_service_has_no_page(officer: Client) -> None:
    PersonFactory.create(employee_number="OTHER")

    assert officer.get(reverse("runs:training", args=["OTHER"])).status_code == 404
