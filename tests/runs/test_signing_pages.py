"""The pages of sign-offs: signing a closed sheet, how somebody stands, taking one back."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import PairingFactory, PersonFactory, bare_layout, rig_on
from drills.engine.observing import HELPED
from drills.people.models import Pairing, Person, Role, RoleGrant
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import set_signing, sign_off, withdraw_sign_off
from drills.runs.models import PresentationState, Run, RunState, Sheet, SigningSettings, SignOff
from drills.scenarios.models import Drill
from tests.runs.conftest import ClientOf
from tests.runs.test_hands_on import ALL, closed, marked, opened, watched
from tests.runs.test_hands_on import call_type as call_type
from tests.runs.test_hands_on import sheet as sheet
from tests.runs.test_signing import BLEEDING, IMMOBILISATION, in_a_phase
from tests.runs.test_signing import met as met

pytestmark = pytest.mark.django_db


@pytest.fixture
def officer(fto: Person, client_of: ClientOf) -> Client:
    return client_of(fto)


@pytest.fixture
def recent(met: Sheet) -> Sheet:
    """The run was seen yesterday, whatever day the tests are run."""
    seen_ago(met, days=1)
    return met


def seen_ago(sheet: Sheet, *, days: int) -> None:
    Sheet.objects.filter(pk=sheet.pk).update(stopped_at=timezone.now() - timedelta(days=days))
    SignOff.objects.filter(sheet=sheet).update(seen_at=timezone.now() - timedelta(days=days))


def read(client: Client, name: str, key: object) -> str:
    response = client.get(reverse(f"runs:{name}", args=[key]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def sign(client: Client, sheet: Sheet, *categories: str) -> int:
    address = reverse("runs:sign", args=[sheet.pk])
    return client.post(address, {"category": categories}).status_code


class TestSigning:
    def test_one_tap_leads_to_what_it_would_renew_and_a_confirm_signs(
        self, officer: Client, recent: Sheet
    ) -> None:
        assert reverse("runs:sign", args=[recent.pk]) in read(officer, "sheet", recent.pk)

        page = read(officer, "sign", recent.pk)

        assert "<b>Circulation and bleeding</b>" in page
        assert "Tourniquet; Gauze roll" in page
        assert "not signed before" in page
        assert "It releases nobody" in page
        assert sign(officer, recent) == 302
        assert SignOff.objects.get().categories == [BLEEDING, IMMOBILISATION]
        assert "Signed off</b> by Ola Field" in read(officer, "sheet", recent.pk)

    def test_the_person_reads_that_it_met_the_standard_and_has_no_button(
        self, hire: Person, recent: Sheet, client_of: ClientOf
    ) -> None:
        page = read(client_of(hire), "sheet", recent.pk)

        assert "It meets the standard of this drill." in page
        assert reverse("runs:sign", args=[recent.pk]) not in page

    def test_below_the_standard_it_says_so_and_cannot_be_signed(
        self, officer: Client, sheet: Sheet
    ) -> None:
        Drill.objects.update(pass_marks_percent=90)
        watched(sheet, marked(sheet, **{**ALL, "splint": HELPED}))
        closed(sheet)

        assert "Below the standard: marks 50 of 100, 90 asked." in read(officer, "sheet", sheet.pk)
        page = read(officer, "sign", sheet.pk)
        assert "It does not meet the standard" in page
        assert "Sign it off</button>" not in page
        assert sign(officer, sheet) == 422
        assert not SignOff.objects.exists()

    def test_crew_who_are_officers_read_why_they_cannot_sign_their_own(
        self, hire: Person, recent: Sheet, client_of: ClientOf
    ) -> None:
        RoleGrant.objects.create(person=hire, role=Role.FTO)
        own = client_of(hire)

        assert "nobody signs their own" in read(own, "sheet", recent.pk)
        assert sign(own, recent) == 422
        assert not SignOff.objects.exists()

    def test_in_the_phases_each_category_has_a_box_and_none_is_ticked(
        self, officer: Client, hire: Person, recent: Sheet
    ) -> None:
        in_a_phase(hire)

        page = read(officer, "sign", recent.pk)

        assert page.count('name="category"') == 2
        assert "checked" not in page
        assert sign(officer, recent) == 422
        assert sign(officer, recent, "airway") == 422
        assert not SignOff.objects.exists()
        assert sign(officer, recent, BLEEDING) == 302
        assert SignOff.objects.get().categories == [BLEEDING]

    def test_it_says_until_when_a_category_stood(
        self, officer: Client, hire: Person, fto: Person, rig: Rig, recent: Sheet
    ) -> None:
        first = sign_off(recent, by=fto, now=timezone.now())
        seen_ago(recent, days=200)
        second = opened(hire, fto, rig)
        watched(second, marked(second, **ALL))
        closed(second)
        seen_ago(second, days=0)

        page = read(officer, "sign", second.pk)

        lapsed = timezone.localdate(timezone.now() - timedelta(days=20))
        assert page.count(f"lapsed on {lapsed.day} {lapsed:%b %Y}") == len(first.categories)


class TestStanding:
    @pytest.fixture
    def signed(self, recent: Sheet, fto: Person) -> SignOff:
        return sign_off(recent, by=fto, now=timezone.now())

    @pytest.mark.parametrize(("days", "state"), [(0, "signed"), (90, "drill due"), (180, "lapsed")])
    def test_the_state_is_of_today(
        self, officer: Client, recent: Sheet, signed: SignOff, days: int, state: str
    ) -> None:
        seen_ago(recent, days=days)

        page = read(officer, "sign_offs", "HIRE")

        assert page.count(f"</svg> {state}</span>") == 2
        record = officer.get(reverse("boards:person", args=["HIRE"])).content.decode()
        assert f"{state.capitalize()}:" in record
        assert f"{BLEEDING}, {IMMOBILISATION}" in record

    def test_a_drill_with_a_kit_answers_for_the_drill_that_was_due(
        self, officer: Client, recent: Sheet, signed: SignOff, run: Run
    ) -> None:
        """A finished run alone is none: a kit has to be answered in it."""
        seen_ago(recent, days=100)
        prompt = recent.drill.prompts.get(position=0)
        now = timezone.now()
        Run.objects.update(state=RunState.FINISHED, finished_at=now - timedelta(days=5))
        assert "</svg> drill due</span>" in read(officer, "sign_offs", "HIRE")

        run.presentations.create(
            prompt=prompt,
            order=99,
            state=PresentationState.ANSWERED,
            outcome="right",
            marks=100,
            served_at=now,
            received_at=now,
        )

        assert "</svg> signed</span>" in read(officer, "sign_offs", "HIRE")

    def test_the_drill_that_is_due_stands_on_today_for_the_layout_they_ride(
        self, hire: Person, rig: Rig, recent: Sheet, signed: SignOff, client_of: ClientOf
    ) -> None:
        own, start = client_of(hire), 'value="kit-at-the-rig"'
        pick_rig(hire, rig, now=timezone.now())
        today = reverse("boards:hire")
        assert start not in own.get(today).content.decode()

        for days, is_due in ((89, False), (90, True), (179, True), (180, False)):
            seen_ago(recent, days=days)
            assert (start in own.get(today).content.decode()) is is_due, days

        seen_ago(recent, days=100)
        pick_rig(hire, rig_on(bare_layout(), unit="12"), now=timezone.now())
        assert start not in own.get(today).content.decode()

    def test_the_service_sets_the_days(
        self, officer: Client, recent: Sheet, signed: SignOff, educator: Person
    ) -> None:
        seen_ago(recent, days=40)
        set_signing(
            drill_after="20", lapses_after="40", hold_years="3", by=educator, now=timezone.now()
        )

        assert "</svg> lapsed</span>" in read(officer, "sign_offs", "HIRE")

    def test_withdrawn_with_a_reason_which_the_person_reads(
        self, officer: Client, hire: Person, signed: SignOff, client_of: ClientOf
    ) -> None:
        address = reverse("runs:withdraw_sign_off", args=[signed.pk])

        response = officer.post(address, {"because": " "})
        assert response.status_code == 422
        assert "0 letters came in as the reason" in response.content.decode()
        assert officer.post(address, {"because": "The bag was another"}).status_code == 302

        page = read(client_of(hire), "sign_offs", "HIRE")
        assert page.count("</svg> withdrawn</span>") == 2
        assert "The bag was another" in page
        assert "<summary>Withdraw it" not in page

    def test_an_officer_of_somebody_else_withdraws_on_the_sheet_and_sees_no_record(
        self, officer: Client, recent: Sheet, signed: SignOff
    ) -> None:
        Pairing.objects.all().delete()
        address = reverse("runs:withdraw_sign_off", args=[signed.pk])
        listed = reverse("runs:sign_offs", args=["HIRE"])
        page = read(officer, "sheet", recent.pk)
        assert (address in page, listed in page) == (True, False)

        refused = officer.post(address, {"because": ""})
        assert refused.status_code == 422
        content = refused.content.decode()
        assert ("0 letters came in" in content, "Sign-offs of" in content) == (True, False)

        response = officer.post(address, {"because": "Another's bag"})
        assert response["Location"] == reverse("runs:sheet", args=[recent.pk])
        assert "Signed off, and withdrawn" in read(officer, "sheet", recent.pk)
        assert officer.get(listed).status_code == 404

    def test_what_lapses_soon_stands_before_the_officer_and_names_their_people_alone(
        self,
        officer: Client,
        recent: Sheet,
        signed: SignOff,
        outsider: Person,
        educator: Person,
        client_of: ClientOf,
    ) -> None:
        SignOff.objects.create(
            person=outsider,
            revision=signed.revision,
            categories=["airway"],
            seen_at=timezone.now() - timedelta(days=160),
            signed_at=timezone.now(),
        )
        address = reverse("runs:lapsing")
        assert "None." in officer.get(address).content.decode()

        seen_ago(recent, days=170)

        mine, all_of_them = (
            client.get(address).content.decode() for client in (officer, client_of(educator))
        )
        assert ("Noor Hire" in mine, "Uri Side" in mine) == (True, False)
        assert all_of_them.index("Noor Hire") < all_of_them.index("Uri Side")
        assert "Sign-offs that lapse" in officer.get(reverse("boards:fto")).content.decode()

    def test_what_was_withdrawn_or_of_who_left_is_not_listed(
        self, officer: Client, hire: Person, recent: Sheet, signed: SignOff, fto: Person
    ) -> None:
        seen_ago(recent, days=170)
        withdraw_sign_off(signed, because="No", by=fto, now=timezone.now())
        assert "None." in officer.get(reverse("runs:lapsing")).content.decode()

        SignOff.objects.update(withdrawn_at=None, withdrawn_because="")
        Person.objects.filter(pk=hire.pk).update(is_active=False)

        assert "None." in officer.get(reverse("runs:lapsing")).content.decode()

    def test_many_people_take_no_more_queries_than_one(
        self,
        officer: Client,
        fto: Person,
        signed: SignOff,
        django_assert_max_num_queries: Any,
    ) -> None:
        address = reverse("runs:lapsing")
        with django_assert_max_num_queries(12) as first:
            officer.get(address)
        for _ in range(5):
            person = PersonFactory.create()
            PairingFactory.create(fto=fto, crew=person)
            SignOff.objects.create(
                person=person,
                officer=fto,
                revision=signed.revision,
                categories=["airway"],
                seen_at=timezone.now() - timedelta(days=170),
                signed_at=timezone.now(),
            )

        with django_assert_max_num_queries(len(first)):
            page = officer.get(address).content.decode()
        assert page.count("airway") == 5


class TestSettings:
    def test_an_educator_sets_both_numbers(self, educator: Person, client_of: ClientOf) -> None:
        client, address = client_of(educator), reverse("runs:signing")
        page = client.get(address).content.decode()
        assert "A drill is due 90 days after" in page
        assert page.count("days after a run was seen, 1 to 3650") == 2

        given = {"drill_after": "60", "lapses_after": "120", "hold_years": "5"}
        assert client.post(address, given).status_code == 302

        assert "a new run after 120." in client.get(address).content.decode()

    def test_what_was_typed_stays_where_it_is_refused(
        self, educator: Person, client_of: ClientOf
    ) -> None:
        given = {"drill_after": "sixty", "lapses_after": "120", "hold_years": "5"}
        response = client_of(educator).post(reverse("runs:signing"), given)

        page = response.content.decode()
        assert response.status_code == 422
        assert "&#x27;sixty&#x27; came in" in page
        assert 'value="sixty"' in page
        assert not SigningSettings.objects.exists()
