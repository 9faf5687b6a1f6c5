"""Short factories with sensible defaults, for the demonstration service and for the tests.

Faker draws from one fixed seed; `reseed` starts its sequence again.
"""

# mypy: allow-untyped-calls
# factory-boy calls itself typed and annotates next to nothing.

from collections.abc import Iterable
from datetime import UTC, datetime

from django.utils.text import slugify
from factory.declarations import (
    LazyAttribute,
    LazyFunction,
    PostGeneration,
    SelfAttribute,
    Sequence,
    SubFactory,
)
from factory.django import DjangoModelFactory, Password
from faker import Faker

from drills.engine import layout as engine
from drills.people.models import (
    CertificationLevel,
    Cohort,
    Pairing,
    Person,
    Role,
    RoleGrant,
)
from drills.rigs.actions import import_layout
from drills.rigs.models import Revision, Rig, Station
from drills.scenarios.models import Recipe

SEED = 20_261_125
BEGAN = datetime(2026, 1, 5, 6, 0, tzinfo=UTC)
LEVELS = {"emt": "EMT", "advanced-emt": "Advanced EMT", "paramedic": "Paramedic"}


def reseed(seed: int = SEED) -> None:
    """Start the sequence of invented names again."""
    _names.seed_instance(seed)


_names = Faker("en_US")
reseed()


class CertificationLevelFactory(DjangoModelFactory[CertificationLevel]):
    """A level of the reference data, made once for each key; paramedic by default."""

    class Meta:
        model = CertificationLevel
        django_get_or_create = ("key",)

    key = "paramedic"
    name = LazyAttribute(lambda level: LEVELS.get(level.key, level.key.title()))
    rank = LazyAttribute(lambda level: _rank_of(level.key))


class CohortFactory(DjangoModelFactory[Cohort]):
    """An intake."""

    class Meta:
        model = Cohort

    name = Sequence(lambda number: f"Intake {number + 1}")
    slug = LazyAttribute(lambda cohort: slugify(cohort.name))


def _grant(person: Person, create: bool, roles: Iterable[str] | None, **_: object) -> None:
    """A person that is only built holds no role."""
    if create:
        wanted = [Role.CREW] if roles is None else roles
        RoleGrant.objects.bulk_create(RoleGrant(person=person, role=role) for role in wanted)


def _join(person: Person, create: bool, cohorts: Iterable[Cohort] | None, **_: object) -> None:
    if create and cohorts:
        person.cohorts.add(*cohorts)


class PersonFactory(DjangoModelFactory[Person]):
    """A crew member who cannot sign in until given a password.

    `roles=[...]` replaces the role of crew, `cohorts=[...]` adds the person to cohorts.
    """

    class Meta:
        model = Person
        skip_postgeneration_save = True

    class Params:
        first = LazyFunction(lambda: _names.first_name())
        last = LazyFunction(lambda: _names.last_name())

    employee_number = Sequence(lambda number: f"SB{number + 1:04}")
    name = LazyAttribute(lambda person: f"{person.first} {person.last}")
    certification = SubFactory(CertificationLevelFactory)
    password = Password(None)
    roles = PostGeneration(_grant)
    cohorts = PostGeneration(_join)


class PairingFactory(DjangoModelFactory[Pairing]):
    """An FTO and a crew member, paired without an end."""

    class Meta:
        model = Pairing

    fto = SubFactory(PersonFactory, roles=[Role.FTO])
    crew = SubFactory(PersonFactory)
    starts_at = BEGAN


class StationFactory(DjangoModelFactory[Station]):
    """Where crews are posted."""

    class Meta:
        model = Station

    name = Sequence(lambda number: f"Station {number + 1}")
    slug = LazyAttribute(lambda station: slugify(station.name))


class RigFactory(DjangoModelFactory[Rig]):
    """A rig on a published revision; without one it rides the bare rig of `bare_layout`."""

    class Meta:
        model = Rig

    unit = Sequence(lambda number: f"{number + 11}")
    revision = LazyFunction(lambda: published(bare_layout()))
    layout = SelfAttribute("revision.layout")
    station = SubFactory(StationFactory)


class RecipeFactory(DjangoModelFactory[Recipe]):
    """Ten prompts from the whole rig, to the pocket."""

    class Meta:
        model = Recipe

    slug = Sequence(lambda number: f"recipe-{number + 1}")
    name = LazyAttribute(lambda recipe: recipe.slug.replace("-", " ").capitalize())
    kinds = "locate:8;contents:2"
    depth = "pocket"
    probes_share = 0.2
    limit_over_baseline_s = 10.0
    minutes = 3


def bare_layout(slug: str = "bare-rig") -> engine.Layout:
    """The least that can be drilled: one cabinet behind one door, with two things in it."""
    cabinet = engine.Compartment(
        "A1", "Cabinet", face="street", rect=engine.Rect(0, 0, 6, 6), opens="outside"
    )
    return engine.Layout(
        name=slug.replace("-", " ").capitalize(),
        slug=slug,
        compartments=(cabinet,),
        stock=(
            engine.StockLine("A1", "Trauma dressing", 2, category="circulation and bleeding"),
            engine.StockLine("A1", "Oral airway set", 1, category="airway", critical=True),
        ),
    )


def published(
    layout: engine.Layout, *, by: Person | None = None, now: datetime = BEGAN
) -> Revision:
    """Import a layout and put it in force."""
    return import_layout(layout, by=by, now=now, publish=True)


def rig_on(layout: engine.Layout, *, unit: str, now: datetime = BEGAN) -> Rig:
    """A rig on the published revision of a layout, imported first if need be."""
    return RigFactory.create(unit=unit, revision=published(layout, now=now))


def _rank_of(key: str) -> int:
    """The rank of a level of the reference data; any other level ranks after them."""
    known = list(LEVELS)
    others = CertificationLevel.objects.exclude(key__in=known).count()
    return known.index(key) + 1 if key in known else len(known) + 1 + others
