"""The command that looks a service over, where no reference data was ever read."""

from typing import Any

import pytest

from drills.people.models import Person
from tests.boards.test_doctor import findings
from tests.boards.test_doctor import site as site

pytestmark = pytest.mark.django_db


def test_a_database_without_reference_data_is_wrong(site: Any, admin: Person) -> None:
    found = findings(ends=1)["reference data"]

    assert found["state"] == "wrong"
    assert found["to_do"] == "Run manage.py loaddata fixtures/*.json."
