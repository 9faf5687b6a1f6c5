"""One-time codes: who may give them, how they let in, and that nothing but the slip shows them."""

import logging
import re
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import CohortFactory, PairingFactory, PersonFactory
from drills.people.actions import CodeGoneError, choose_password, give_codes
from drills.people.actions.codes import ALPHABET, LASTS
from drills.people.models import AuditEntry, Pairing, Person, Role, RoleGrant, SignInCode
from drills.people.views.signing_in import CHOOSING_LASTS
from tests.cast import PASSWORD
from tests.people.conftest import ClientOf

SIGN_IN, CHOOSE, SLIPS = (
    reverse(f"people:{name}") for name in ("sign_in", "choose_password", "slips")
)
CODE = re.compile(r"\b[A-Z0-9]{4}-[A-Z0-9]{4}-[A-Z0-9]{4}\b")
OWN = "gravel under slow wheels"
HTMX = {"HX-Request": "true"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def newcomer(db: None) -> Person:
    return PersonFactory.create(employee_number="NEW", name="Nia Newcomer")


@pytest.fixture
def code(newcomer: Person) -> str:
    return code_of(newcomer)


def code_of(person: Person) -> str:
    (slip,) = give_codes([person], by=None, now=timezone.now())
    return slip.code


def give_url(person: Person) -> str:
    return reverse("people:new_code", args=[person.employee_number])


def enter(client: Client, number: str, secret: str, **more: str) -> tuple[int, str]:
    response = client.post(SIGN_IN, {"employee_number": number, "password": secret, **more})
    return response.status_code, response.get("Location", "")


def choose(client: Client, password: str = OWN, again: str | None = None) -> tuple[int, str, str]:
    sent = {"new_password": password, "again": password if again is None else again}
    response = client.post(CHOOSE, sent)
    return response.status_code, response.get("Location", ""), response.text


class TestFirstSignIn:
    def test_a_code_leads_to_a_password_of_ones_own_and_in(
        self, client: Client, newcomer: Person, code: str
    ) -> None:
        assert enter(client, "NEW", code, next="/rigs/") == (302, CHOOSE)
        assert choose(client)[:2] == (302, "/rigs/")

        assert client.get("/rigs/").status_code == 200
        assert enter(Client(), "NEW", OWN)[1] == reverse("boards:home")

    @pytest.mark.parametrize("write", [str.lower, lambda c: c.replace("-", ""), lambda c: f" {c} "])
    def test_a_code_is_read_however_it_is_typed(
        self, client: Client, code: str, write: object
    ) -> None:
        assert callable(write)
        assert enter(client, "NEW", write(code))[1] == CHOOSE

    def test_who_left_after_entering_it_chooses_no_password(
        self, client: Client, newcomer: Person, code: str
    ) -> None:
        enter(client, "NEW", code)
        Person.objects.filter(pk=newcomer.pk).update(is_active=False)

        assert choose(client)[:2] == (302, SIGN_IN)
        newcomer.refresh_from_db()
        assert not newcomer.has_password

    def test_nothing_else_is_open_before_the_password_is_chosen(
        self, client: Client, code: str
    ) -> None:
        enter(client, "NEW", code)

        for page in ("/", "/rigs/", reverse("people:password"), reverse("boards:roster")):
            assert client.get(page)["Location"].startswith(SIGN_IN)
        assert "_auth_user_id" not in client.session

    @pytest.mark.parametrize(
        ("password", "again", "said"),
        [
            ("too short", None, "at least 15 characters"),
            ("yfdbufnjh10305070", None, "too common"),
            (OWN, "gravel under slow wheel", "do not match"),
            ("", "", "A field is empty: new password."),
        ],
    )
    def test_a_password_that_will_not_do_says_why_and_the_code_stays(
        self, client: Client, code: str, password: str, again: str | None, said: str
    ) -> None:
        enter(client, "NEW", code)

        status, _, page = choose(client, password, again)

        assert status == 422
        assert said in page
        assert choose(client)[0] == 302

    @pytest.mark.parametrize("password", ["å" * 128, " leading and trailing ", "x7" * 200])
    def test_long_ones_spaces_and_letters_of_every_script_are_taken_as_they_are(
        self, client: Client, code: str, password: str
    ) -> None:
        enter(client, "NEW", code)

        assert choose(client, password)[0] == 302
        assert enter(Client(), "NEW", password)[0] == 302

    def test_the_page_tells_the_rules_and_lets_a_password_manager_work(
        self, client: Client, code: str
    ) -> None:
        enter(client, "NEW", code)
        page = client.get(CHOOSE).text

        assert "15 characters or more" in page
        assert page.count('autocomplete="new-password"') == 2
        assert 'autocomplete="username"' in page
        assert code not in page

    def test_without_a_code_the_page_is_not_there(self, client: Client) -> None:
        assert client.get(CHOOSE)["Location"] == SIGN_IN
        assert choose(client)[:2] == (302, SIGN_IN)


class TestOnce:
    def test_a_used_code_lets_nobody_in(self, client: Client, newcomer: Person, code: str) -> None:
        enter(client, "NEW", code)
        choose(client)

        assert enter(Client(), "NEW", code)[0] == 422
        assert not SignInCode.objects.exists()

    def test_of_two_who_entered_it_the_first_to_choose_is_in(
        self, newcomer: Person, code: str
    ) -> None:
        first, second = Client(), Client()
        enter(first, "NEW", code)
        enter(second, "NEW", code)
        choose(first)

        assert choose(second, "another one of my own")[1] == SIGN_IN
        assert enter(Client(), "NEW", OWN)[0] == 302
        assert "has lapsed" in second.get(SIGN_IN).text

    def test_a_new_code_ends_the_old_one_even_where_it_was_entered(
        self, client: Client, newcomer: Person, code: str
    ) -> None:
        enter(client, "NEW", code)
        newer = code_of(newcomer)

        assert choose(client)[1] == SIGN_IN
        assert enter(Client(), "NEW", code)[0] == 422
        assert enter(Client(), "NEW", newer)[1] == CHOOSE

    def test_it_lapses_after_two_weeks(self, client: Client, newcomer: Person, code: str) -> None:
        now = timezone.now()
        assert SignInCode.objects.get().lapses_at - now <= LASTS == timedelta(days=14)
        SignInCode.objects.update(lapses_at=now)

        assert enter(client, "NEW", code)[0] == 422
        with pytest.raises(CodeGoneError):
            choose_password(SignInCode.objects.get().pk, OWN, now=now)

    def test_one_that_was_entered_lies_open_for_a_quarter_of_an_hour(
        self, client: Client, code: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        enter(client, "NEW", code)
        later = timezone.now() + CHOOSING_LASTS + timedelta(seconds=1)
        monkeypatch.setattr(timezone, "now", lambda: later)

        assert choose(client)[1] == SIGN_IN
        assert enter(client, "NEW", code)[1] == CHOOSE

    def test_one_who_has_left_is_not_let_in_by_it(
        self, client: Client, newcomer: Person, code: str
    ) -> None:
        enter(client, "NEW", code)
        Person.objects.update(is_active=False)

        assert choose(client)[1] == SIGN_IN
        assert enter(Client(), "NEW", code)[0] == 422


class TestWhoMayGive:
    def test_an_administrator_to_everybody_but_themselves(
        self, client_of: ClientOf, admin: Person, hire: Person, keeper: Person
    ) -> None:
        client = client_of(admin)

        for person in (hire, keeper):
            assert CODE.search(client.post(give_url(person)).text)
        assert client.post(give_url(admin)).status_code == 404

    def test_an_fto_to_the_crew_paired_with_them(
        self, client_of: ClientOf, fto: Person, hire: Person, outsider: Person
    ) -> None:
        client = client_of(fto)

        assert CODE.search(client.post(give_url(hire)).text)
        assert client.post(give_url(outsider)).status_code == 404

    def test_not_after_the_pairing_ended(
        self, client_of: ClientOf, fto: Person, hire: Person
    ) -> None:
        Pairing.objects.update(ends_at=timezone.now())

        assert client_of(fto).post(give_url(hire)).status_code == 404

    @pytest.mark.parametrize("role", [role for role in Role if role != Role.CREW])
    def test_an_fto_becomes_nobody_who_may_do_more_than_crew(
        self, client_of: ClientOf, fto: Person, hire: Person, role: Role
    ) -> None:
        """Whoever gives a code could use it: an administrator could be taken over so."""
        RoleGrant.objects.create(person=hire, role=role)

        assert client_of(fto).post(give_url(hire)).status_code == 404
        assert not SignInCode.objects.exists()
        assert Person.objects.get(pk=hire.pk).has_password

    def test_not_to_one_who_has_left(
        self, client_of: ClientOf, admin: Person, newcomer: Person
    ) -> None:
        Person.objects.filter(pk=newcomer.pk).update(is_active=False)

        assert client_of(admin).post(give_url(newcomer)).status_code == 404

    @pytest.mark.parametrize("who", ["hire", "educator", "keeper"])
    def test_nobody_else(
        self, client_of: ClientOf, newcomer: Person, who: str, request: pytest.FixtureRequest
    ) -> None:
        client = client_of(request.getfixturevalue(who))

        assert client.post(give_url(newcomer)).status_code == 404
        assert client.post(SLIPS).status_code == 403


class TestReset:
    def test_a_new_code_ends_the_password_and_every_browser_it_is_in(
        self, client_of: ClientOf, admin: Person, hire: Person
    ) -> None:
        signed_in = client_of(hire)
        assert signed_in.get("/rigs/").status_code == 200

        client_of(admin).post(give_url(hire))

        assert signed_in.get("/rigs/")["Location"].startswith(SIGN_IN)
        assert enter(Client(), "HIRE", PASSWORD)[0] == 422

    def test_a_first_code_signs_nobody_out(self, newcomer: Person) -> None:
        before = Person.objects.get(pk=newcomer.pk).password
        code_of(newcomer)

        assert Person.objects.get(pk=newcomer.pk).password == before


class TestSlips:
    def test_one_for_each_who_cannot_get_in_yet(
        self, client_of: ClientOf, admin: Person, hire: Person, newcomer: Person
    ) -> None:
        other = PersonFactory.create(employee_number="OTHER", name="Oz Other")
        PersonFactory.create(employee_number="LEFT", is_active=False)
        code_of(other)

        page = client_of(admin).post(SLIPS).text

        assert "Nia Newcomer" in page
        assert f"http://testserver{SIGN_IN}" in page
        assert len(CODE.findall(page)) == 1
        assert page.count('class="paper"') == 1

    @pytest.mark.parametrize(
        ("who", "given"),
        [
            ("all", {"NEW", "RESET", "APART"}),
            ("new", {"NEW", "APART"}),
            ("cohort:spring", {"NEW", "RESET"}),
            ("cohort:none", set()),
        ],
    )
    def test_for_those_chosen_alone(
        self, client_of: ClientOf, admin: Person, newcomer: Person, who: str, given: set[str]
    ) -> None:
        spring = CohortFactory.create(slug="spring", name="Spring intake")
        newcomer.cohorts.add(spring)
        PersonFactory.create(
            employee_number="RESET", certification=None, cohorts=[spring], last_login=timezone.now()
        )
        PersonFactory.create(employee_number="APART", certification=None)

        client_of(admin).post(SLIPS, {"who": who})

        assert set(SignInCode.objects.values_list("person__employee_number", flat=True)) == given

    def test_the_roster_offers_the_choice(
        self, client_of: ClientOf, admin: Person, newcomer: Person
    ) -> None:
        newcomer.cohorts.add(CohortFactory.create(slug="spring", name="Spring intake"))
        PersonFactory.create(certification=None)

        page = client_of(admin).get(reverse("boards:roster")).text

        assert "Everybody without a slip (2)" in page
        assert "Only who never signed in (2)" in page
        assert "Only Spring intake (1)" in page

    def test_unused_ones_anew_when_asked(self, client_of: ClientOf, admin: Person) -> None:
        other = PersonFactory.create(employee_number="OTHER", name="Oz Other")
        old = code_of(other)

        page = client_of(admin).post(SLIPS, {"anew": "on"}).text

        assert CODE.findall(page) != [old]
        assert enter(Client(), "OTHER", old)[0] == 422

    def test_sent_twice_it_makes_no_second_code(
        self, client_of: ClientOf, admin: Person, newcomer: Person
    ) -> None:
        client = client_of(admin)
        (code,) = CODE.findall(client.post(SLIPS).text)

        again = client.post(SLIPS).text

        assert CODE.findall(again) == []
        assert "Nobody is without a way in" in again
        assert enter(Client(), "NEW", code)[1] == CHOOSE

    def test_it_says_when_the_code_lapses_and_is_whole_for_htmx_too(
        self, client_of: ClientOf, admin: Person, newcomer: Person
    ) -> None:
        page = client_of(admin).post(SLIPS, headers=HTMX).text

        last = SignInCode.objects.get().lapses_at
        assert f"{last:%A}, {last.day} {last:%B %Y}" in page
        assert "NEW" in page

    def test_three_hundred_are_made_in_a_bounded_number_of_queries(
        self, django_assert_max_num_queries: object
    ) -> None:
        assert callable(django_assert_max_num_queries)
        people = [PersonFactory.create(certification=None) for _ in range(300)]

        with django_assert_max_num_queries(20):
            slips = give_codes(people, by=None, now=timezone.now())

        assert len({slip.code for slip in slips}) == 300


class TestSecrecy:
    def test_a_code_is_long_unlike_words_and_without_signs_that_look_alike(self) -> None:
        assert not set("AEIOUY") & set(ALPHABET)
        for alike in ("0OQ", "1IL", "2Z", "5S", "8B", "UV"):
            assert len(set(alike) & set(ALPHABET)) <= 1
        assert len(ALPHABET) ** 12 > 2**50

    def test_it_is_kept_as_a_hash_alone(self, newcomer: Person, code: str) -> None:
        kept = SignInCode.objects.get().hashed

        assert kept.startswith("pbkdf2_sha256$")
        assert code not in kept
        assert code.replace("-", "") not in kept

    def test_neither_audit_nor_log_nor_address_tells_it(
        self,
        client_of: ClientOf,
        admin: Person,
        newcomer: Person,
        caplog: pytest.LogCaptureFixture,
    ) -> None:
        caplog.set_level(logging.DEBUG)
        shown = client_of(admin).post(give_url(newcomer))
        (code,) = CODE.findall(shown.text)
        client = Client()
        enter(client, "NEW", code)
        choose(client)

        told = caplog.text + repr(list(AuditEntry.objects.values()))
        for secret in (code, code.replace("-", ""), OWN):
            assert secret not in told
        assert code not in str(shown.headers)
        actions = AuditEntry.objects.values_list("action", "actor__employee_number", "subject")
        assert list(actions) == [("give code", "ADMIN", "NEW"), ("choose password", "NEW", "NEW")]

    def test_no_browser_keeps_the_page_and_no_link_leads_to_it(
        self, client_of: ClientOf, admin: Person, newcomer: Person
    ) -> None:
        client = client_of(admin)

        assert "no-store" in client.post(give_url(newcomer))["Cache-Control"]
        assert client.get(give_url(newcomer)).status_code == 405
        assert client.get(SLIPS).status_code == 405


def test_an_fto_finds_the_new_code_on_the_page_of_their_person(
    client_of: ClientOf, fto: Person, hire: Person, educator: Person
) -> None:
    page = reverse("boards:person", args=["HIRE"])

    assert give_url(hire) in client_of(fto).get(page).text
    assert give_url(hire) not in client_of(educator).get(page).text
    assert give_url(hire) not in client_of(hire).get(page).text


def test_being_paired_without_the_role_gives_no_codes(
    client_of: ClientOf, outsider: Person, hire: Person
) -> None:
    PairingFactory.create(fto=outsider, crew=hire)

    assert client_of(outsider).post(give_url(hire)).status_code == 404


@pytest.mark.django_db(transaction=True)
def test_of_many_who_choose_at_the_same_moment_one_has_the_code(newcomer: Person) -> None:
    code_of(newcomer)
    code_id = SignInCode.objects.get().pk

    def choose_one(number: int) -> bool:
        try:
            return bool(choose_password(code_id, f"{OWN} {number}", now=timezone.now()))
        except CodeGoneError:
            return False
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        chosen = list(pool.map(choose_one, range(6)))

    assert sum(chosen) == 1
    assert Client().login(username="NEW", password=f"{OWN} {chosen.index(True)}")
