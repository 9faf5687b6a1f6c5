"""The people of our tests: four who are named, and two who keep the place running.

The FTO is paired with the hire and with nobody else. The outsider is crew like the hire and has
no relation to any of the others.
"""

from datetime import timedelta

import pytest

from drills.competency.fitted import forget_fits
from drills.demo.factories import (
    CertificationLevelFactory,
    CohortFactory,
    PairingFactory,
    PersonFactory,
)
from drills.people.models import Person, Role
from drills.rigs.reading import forget_kept
from drills.runs.access import forget_drills
from drills.runs.models import runs as runs_module

PASSWORD = "four doors and a lid"


@pytest.fixture(autouse=True)
def nothing_lapses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Runs of the tests begin on a day that is written down, and pages go by the calendar.

    A test of what lapses has a fixture of this name that leaves the time as it is.
    """
    monkeypatch.setattr(runs_module, "LAPSES_AFTER", timedelta(days=36500))


def make_hire() -> Person:
    """A new hire, a paramedic in the first intake, with no pairing yet."""
    return PersonFactory.create(
        employee_number="HIRE",
        name="Noor Hire",
        password=PASSWORD,
        certification=CertificationLevelFactory.create(key="paramedic"),
        cohorts=[CohortFactory.create(slug="first-intake", name="First intake")],
    )


def make_fto(*, trainee: Person) -> Person:
    """A field training officer paired with one trainee."""
    person = _make("FTO", "Ola Field", Role.FTO)
    PairingFactory.create(fto=person, crew=trainee)
    return person


def make_educator() -> Person:
    return _make("EDUCATOR", "Ede Cator", Role.EDUCATOR)


def make_outsider() -> Person:
    """Crew, in no cohort and no pairing."""
    return _make("OUTSIDER", "Uri Side", Role.CREW)


def make_keeper() -> Person:
    return _make("KEEPER", "Kay Keeper", Role.KEEPER)


def make_admin() -> Person:
    return _make("ADMIN", "Ada Min", Role.ADMIN)


def _make(number: str, name: str, role: Role) -> Person:
    return PersonFactory.create(employee_number=number, name=name, password=PASSWORD, roles=[role])


@pytest.fixture
def hire(db: None) -> Person:
    return make_hire()


@pytest.fixture
def fto(hire: Person) -> Person:
    return make_fto(trainee=hire)


@pytest.fixture
def educator(db: None) -> Person:
    return make_educator()


@pytest.fixture
def outsider(db: None) -> Person:
    return make_outsider()


@pytest.fixture
def keeper(db: None) -> Person:
    return make_keeper()


@pytest.fixture
def admin(db: None) -> Person:
    return make_admin()


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    """No layout kept in memory outlives its database: numbers of rows come again in the next."""
    forget_kept()
    forget_drills()
    forget_fits()
