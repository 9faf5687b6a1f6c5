"""Where the demonstration service is not made."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from drills.people.models import Person
from drills.rigs.models import Rig

pytestmark = pytest.mark.django_db


def test_refuses_a_database_that_holds_anyone_else(hire: Person) -> None:
    with pytest.raises(CommandError, match="holds 1 people who are not of the demonstration"):
        call_command("seed_demo", stdout=StringIO())

    assert not Rig.objects.exists()


def test_asks_for_the_reference_data_in_one_line(db: None) -> None:
    with pytest.raises(CommandError, match=r"loaddata fixtures/\*\.json$") as told:
        call_command("seed_demo", stdout=StringIO())

    assert "\n" not in str(told.value)
    assert not Person.objects.exists()
