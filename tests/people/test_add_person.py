"""The command that adds a person."""

from io import StringIO
from urllib.parse import quote

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from drills.people.models import AuditEntry, CertificationLevel, Person, Role

PASSWORD = "a tall blue cot in the rain"
pytestmark = pytest.mark.django_db


def add(*arguments: str, password: str, monkeypatch: pytest.MonkeyPatch) -> str:
    out = StringIO()
    monkeypatch.setattr("sys.stdin", StringIO(password + "\n"))
    call_command("add_person", *arguments, stdout=out)
    return out.getvalue()


def test_adds_somebody_who_can_sign_in(monkeypatch: pytest.MonkeyPatch) -> None:
    CertificationLevel.objects.create(key="paramedic", name="Paramedic", rank=3)

    said = add(
        "7",
        "Ada Min",
        "--role=admin",
        "--certification=paramedic",
        password=PASSWORD,
        monkeypatch=monkeypatch,
    )

    person = Person.objects.get(employee_number="7")
    assert person.roles == {Role.ADMIN}
    assert str(person.certification) == "Paramedic"
    assert Client().login(username="7", password=PASSWORD)
    assert said == "Added 7 Ada Min: admin; certification paramedic.\n"
    entry = AuditEntry.objects.get()
    assert (entry.action, entry.before) == ("add person", None)
    assert entry.after is not None
    assert (entry.after["roles"], entry.after["certification"]) == (["admin"], "paramedic")


def test_is_crew_when_no_role_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    add("8", "Cy Crew", password=PASSWORD, monkeypatch=monkeypatch)

    assert Person.objects.get().roles == {Role.CREW}


def test_refuses_a_short_password(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="at least 15 characters"):
        add("8", "Cy Crew", password="short", monkeypatch=monkeypatch)

    assert not Person.objects.exists()


@pytest.mark.parametrize("number", ["HIRE", "hire"])
def test_refuses_a_number_twice(hire: Person, number: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="number HIRE already"):
        add(number, "Another", password=PASSWORD, monkeypatch=monkeypatch)


@pytest.mark.parametrize(
    "number", ["", "12/7", "1 2", ".", "..", "-7", "ä7", "7\n", "?7", "7" * 21], ids=repr
)
def test_refuses_a_number_that_would_break_an_address(
    number: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(CommandError) as refused:
        add("--", number, "Cy Crew", password=PASSWORD, monkeypatch=monkeypatch)

    assert str(refused.value) == (
        f"{number!r} is no employee number; it takes 1 to 20 of the letters A to Z, digits, "
        "hyphen, dot and underscore, the first a letter or a digit."
    )
    assert not Person.objects.exists()


@pytest.mark.parametrize("number", ["7", "SB0007", "a.b_c-9", "7" * 20])
def test_takes_a_number_that_stands_in_an_address_as_it_is(
    number: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(number, "Cy Crew", password=PASSWORD, monkeypatch=monkeypatch)

    assert quote(Person.objects.get().employee_number, safe="") == number


def test_refuses_an_empty_name(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="The name is empty"):
        add("7", " ", password=PASSWORD, monkeypatch=monkeypatch)


def test_evens_out_the_spaces_of_a_name(monkeypatch: pytest.MonkeyPatch) -> None:
    add("7", "\u00a0 Cy \t Crew ", password=PASSWORD, monkeypatch=monkeypatch)

    assert Person.objects.get().name == "Cy Crew"


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Cy \u202eCrew", "it takes text without control characters"),
        ("C" * 121, "The name has 121 characters; it takes at most 120"),
    ],
)
def test_refuses_a_name_that_does_not_fit(
    name: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(CommandError, match=said):
        add("7", name, password=PASSWORD, monkeypatch=monkeypatch)

    assert not Person.objects.exists()


def test_names_the_levels_there_are(monkeypatch: pytest.MonkeyPatch) -> None:
    CertificationLevel.objects.create(key="emt", name="EMT", rank=1)

    with pytest.raises(CommandError, match="No certification level 'medic'; there are: emt"):
        add("8", "Cy", "--certification=medic", password=PASSWORD, monkeypatch=monkeypatch)
