"""The command that adds a person."""

from io import StringIO

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

    add(
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
    assert AuditEntry.objects.get().action == "add person"


def test_is_crew_when_no_role_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    add("8", "Cy Crew", password=PASSWORD, monkeypatch=monkeypatch)

    assert Person.objects.get().roles == {Role.CREW}


def test_refuses_a_short_password(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="at least 15 characters"):
        add("8", "Cy Crew", password="short", monkeypatch=monkeypatch)

    assert not Person.objects.exists()


def test_refuses_a_number_twice(hire: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="number HIRE already"):
        add("HIRE", "Another", password=PASSWORD, monkeypatch=monkeypatch)


def test_names_the_levels_there_are(monkeypatch: pytest.MonkeyPatch) -> None:
    CertificationLevel.objects.create(key="emt", name="EMT", rank=1)

    with pytest.raises(CommandError, match="No certification level 'medic'; there are: emt"):
        add("8", "Cy", "--certification=medic", password=PASSWORD, monkeypatch=monkeypatch)
