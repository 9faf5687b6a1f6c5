"""A screen that crew hand on to each other, by a number and a short personal code."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import PersonFactory
from drills.people.actions import (
    SHARED_FOR,
    TAKES,
    choose_personal_code,
    give_codes,
    may_take_over,
)
from drills.people.actions.personal import FREE_TRIES, refuse_code
from drills.people.models import AuditEntry, Person, PersonalCode, Role
from tests.cast import PASSWORD
from tests.people.conftest import ClientOf

CODE, OTHER_CODE = "402917", "193804"
OWN_PAGE, PAGE, DROP = map(
    reverse, ("people:personal_code", "people:take_over", "people:drop_code")
)


@pytest.fixture
def peer(db: None) -> Person:
    """Crew and nothing else, with a personal code."""
    person: Person = PersonFactory.create(
        employee_number="PEER", name="Wren Holloway", roles=[Role.CREW]
    )
    choose_personal_code(person, CODE, now=timezone.now())
    return person


@pytest.fixture
def screen(hire: Person) -> Client:
    """A browser in which the hire signed in with their password."""
    client = Client()
    sent = {"employee_number": hire.employee_number, "password": PASSWORD}
    assert client.post(reverse("people:sign_in"), sent).status_code == 302
    return client


def take(client: Client, number: str = "PEER", code: str = CODE) -> tuple[int, str]:
    response = client.post(PAGE, {"employee_number": number, "code": code})
    return response.status_code, response.text


def who_is_at(client: Client) -> str:
    return str(client.get(reverse("people:password")).context["user"].employee_number)


@pytest.mark.parametrize("number", ["PEER", "peer"])
def test_the_next_takes_over_and_the_one_before_is_out(
    screen: Client, peer: Person, number: str
) -> None:
    """And the one after that as well."""
    key = screen.session.session_key

    assert take(screen, number)[0] == 302

    assert who_is_at(screen) == "PEER"
    assert screen.session.session_key != key
    other = PersonFactory.create(employee_number="THIRD", roles=[Role.CREW])
    choose_personal_code(other, OTHER_CODE, now=timezone.now())
    assert take(screen, "THIRD", OTHER_CODE)[0] == 302
    assert who_is_at(screen) == "THIRD"


@pytest.mark.parametrize(
    ("number", "code"), [("PEER", OTHER_CODE), ("NOBODY", CODE), ("HIRE", CODE), ("PEER", "x")]
)
def test_a_wrong_code_changes_nobody(screen: Client, peer: Person, number: str, code: str) -> None:
    """Nor one of a number that has none."""
    status, said = take(screen, number, code)

    assert status == 422
    assert "do not go together" in said
    assert who_is_at(screen) == "HIRE"


def test_after_five_wrong_ones_the_right_one_is_not_taken_either(
    screen: Client, peer: Person
) -> None:
    """Until its person chooses anew."""
    for _ in range(FREE_TRIES):
        take(screen, code=OTHER_CODE)

    assert take(screen)[0] == 422
    choose_personal_code(peer, CODE, now=timezone.now())
    assert take(screen)[0] == 302


def test_a_right_one_forgets_the_wrong_ones_before(screen: Client, peer: Person) -> None:
    for _ in range(2):
        for _ in range(FREE_TRIES - 1):
            take(screen, code=OTHER_CODE)
        assert take(screen)[0] == 302


def test_a_screen_is_handed_on_no_longer_than_a_shift(screen: Client, peer: Person) -> None:
    """However often it was handed on since; and a password opens it anew."""
    assert take(screen)[0] == 302
    session = screen.session
    session["opened_at"] = (timezone.now() - SHARED_FOR).isoformat()
    session.save()

    assert "Nobody has signed in here with a password" in screen.get(PAGE).text
    status, said = take(screen)
    assert status == 422
    assert "Nobody has signed in here with a password" in said
    assert PersonalCode.objects.get(person=peer).failures == 0


def test_a_sign_in_of_another_kind_hands_nothing_on(
    client_of: ClientOf, hire: Person, peer: Person
) -> None:
    """A session that nobody opened with a password."""
    assert take(client_of(hire))[0] == 422


def test_who_is_signed_out_takes_nothing_over(peer: Person) -> None:
    client = Client()

    assert take(client)[0] == 302
    assert not client.session.get("_auth_user_id")


@pytest.mark.parametrize("role", [each for each in Role if each != Role.CREW])
def test_who_holds_another_role_is_not_let_in_by_a_code(
    screen: Client, peer: Person, role: str
) -> None:
    """Not even by one that was chosen before, and none is chosen since."""
    peer.grants.create(role=role)
    peer.forget_roles()

    assert not may_take_over(peer)
    assert take(screen)[0] == 422
    with pytest.raises(ValueError, match="crew who hold no other role"):
        choose_personal_code(peer, OTHER_CODE, now=timezone.now())


def test_a_new_slip_takes_the_code_away(screen: Client, peer: Person, admin: Person) -> None:
    give_codes([peer], by=admin, now=timezone.now())

    assert take(screen)[0] == 422
    assert not PersonalCode.objects.exists()


@pytest.mark.parametrize(
    "code",
    ["12345", "1234567", "123456", "654321", "567890", "111111", "121212", "40a917", "٤٠٢٩١٧"],
)
def test_what_anybody_would_try_first_is_no_code(code: str, hire: Person) -> None:
    with pytest.raises(ValueError, match="takes 6 digits") as refused:
        refuse_code(code, hire)
    assert code not in str(refused.value).replace("such as 123456", "")


def test_the_digits_of_ones_own_number_are_no_code(hire: Person) -> None:
    hire.employee_number = "SB0417"
    refuse_code("402917", hire)
    with pytest.raises(ValueError, match="not those of your employee number"):
        refuse_code("900417", hire)


def keep(client: Client, code: str = CODE, password: str = PASSWORD) -> tuple[int, str]:
    response = client.post(OWN_PAGE, {"password": password, "code": code})
    return response.status_code, response.text


def test_a_code_is_chosen_with_the_password_and_kept_as_a_hash(
    client_of: ClientOf, hire: Person
) -> None:
    assert keep(client_of(hire))[0] == 302

    kept = PersonalCode.objects.get(person=hire)
    assert CODE not in kept.hashed
    assert AuditEntry.objects.get().action == "choose personal code"
    assert CODE not in str(AuditEntry.objects.values())


@pytest.mark.parametrize(
    ("code", "password", "said"),
    [
        ("111111", PASSWORD, TAKES),
        (CODE, "not this one at all", "That is not your present password."),
        (CODE, "", "A field is empty: password."),
    ],
)
def test_what_will_not_do_is_said_and_keeps_nothing(
    client_of: ClientOf, hire: Person, code: str, password: str, said: str
) -> None:
    status, page = keep(client_of(hire), code, password)

    assert status == 422
    assert said in page
    assert not PersonalCode.objects.exists()


def test_a_code_is_dropped_again(client_of: ClientOf, peer: Person, screen: Client) -> None:
    client = client_of(peer)
    assert "Another personal code" in client.get(OWN_PAGE).text

    client.post(DROP)

    assert take(screen)[0] == 422
    assert AuditEntry.objects.latest("pk").action == "drop personal code"
    client.post(DROP)
    assert AuditEntry.objects.filter(action="drop personal code").count() == 1


def test_officers_are_offered_none(client_of: ClientOf, fto: Person, hire: Person) -> None:
    assert client_of(fto).get(OWN_PAGE).status_code == 403
    assert OWN_PAGE not in client_of(fto).get(reverse("people:password")).text
    assert OWN_PAGE in client_of(hire).get(reverse("people:password")).text


def test_a_code_opened_long_ago_is_not_known_to_be_shared() -> None:
    """A shift of twelve hours, ours."""
    assert timedelta(hours=12) == SHARED_FOR
