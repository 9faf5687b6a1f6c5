"""The call types that come with the product: whole, and never twice the same."""

import json
import re
from collections import Counter
from itertools import combinations
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import transaction

from drills.engine.arriving.tables import HAZARDS, RESOURCES
from drills.engine.callcheck import faults_of, idle_of
from drills.engine.calls import MUST, NEEDLESS, PATIENT, USEFUL, CallType, CallWorld
from drills.engine.chance import seeded
from drills.engine.dispatch import make_call
from drills.engine.incidents.tables import PROBLEMS
from drills.rigs.models import Need
from drills.scenarios.models import CallType as CallTypeRow
from drills.scenarios.models import Problem
from drills.scenarios.reading import call_type_of, call_world

FIXTURES = Path(__file__).parents[2] / "fixtures"
SLUGS = [row["fields"]["slug"] for row in json.loads((FIXTURES / "call_types.json").read_text())]
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def loaded(
    django_db_setup: None, django_db_blocker: object
) -> tuple[dict[str, CallType], CallWorld]:
    """Read once for all; nothing stays in the database."""
    unblock = django_db_blocker.unblock  # type: ignore[attr-defined]  # a fixture of pytest-django
    with unblock(), transaction.atomic():
        call_command("loaddata", *FIXTURES.glob("*.json"), verbosity=0)
        types = {row.slug: call_type_of(row, {}) for row in CallTypeRow.objects.all()}
        world = call_world()
        transaction.set_rollback(True)
    return types, world


def test_every_word_of_a_call_is_known() -> None:
    call_command("loaddata", *FIXTURES.glob("*.json"), verbosity=0)
    needs = set(Need.objects.values_list("key", flat=True))
    problems = set(Problem.objects.values_list("slug", flat=True))

    for row in CallTypeRow.objects.all():
        for each in row.needs:
            named = {each["need"], *each["serves_instead"], *each["wrong_grab"]}
            assert named <= needs, row
            assert each["problem"] in {"", *problems}
            assert each["quantity"] >= 1
        assert {each["problem"] for each in row.patients} <= problems
        assert row.source
        assert row.owner
        assert {*row.hazards_here, *row.hazards_possible} <= set(HAZARDS)
        assert {*row.asks_for, *row.may_ask_for} <= set(RESOURCES)


@pytest.mark.parametrize("slug", SLUGS)
def test_a_scene_has_something_to_look_for_and_something_that_is_not_there(
    slug: str, loaded: tuple[dict[str, CallType], CallWorld]
) -> None:
    """What may be there is left open; enough is clearly of another call to choose from."""
    call_type = loaded[0][slug]
    here, possible = set(call_type.hazards_here), set(call_type.hazards_possible)
    assert here
    assert not here & possible
    assert len(HAZARDS) - len(here | possible) >= 6
    asked, may = set(call_type.asks_for), set(call_type.may_ask_for)
    assert may
    assert not asked & may
    assert len(RESOURCES) - len(asked | may) >= 4


@pytest.mark.parametrize("slug", SLUGS)
def test_a_call_type_has_the_whole_of_it(
    slug: str, loaded: tuple[dict[str, CallType], CallWorld]
) -> None:
    """Whoever it draws has findings and a phrase, and nothing in it is never used."""
    call_type, world = loaded[0][slug], loaded[1]

    assert faults_of(call_type, world) == ()
    assert idle_of(call_type, world) == ()
    assert len(call_type.phrases) >= 6
    grades = Counter(each.grade for each in call_type.needs)
    assert grades[MUST] >= 4
    assert grades[USEFUL] >= 10
    assert grades[NEEDLESS] >= 3
    assert all(each.why for each in call_type.needs)
    assert any(each.wrong_grab for each in call_type.needs)
    assert any(each.instead for each in call_type.needs)


SIZED = (
    *("bag-valve-mask", "bp-cuff", "cervical-collar", "defibrillation-pads", "io-needle"),
    *("non-rebreather-mask", "supraglottic-airway", "traction-splint"),
)
# What an infant takes in place of the smallest mask of the family.
OF_INFANTS = {"non-rebreather-mask": "oxygen-mask-infant"}


@pytest.mark.parametrize("slug", SLUGS)
def test_what_has_a_size_is_asked_for_in_every_size_that_may_be_there(
    slug: str, loaded: tuple[dict[str, CallType], CallWorld]
) -> None:
    """For each patient or for all who share it, each size of those it is for has its own."""
    call_type, world = loaded[0][slug], loaded[1]
    needs = [each for each in call_type.needs if each.grade != NEEDLESS]
    for family, problem in {
        (family, each.problem)
        for each in needs
        for family in SIZED
        if each.need.startswith(family) and (each.per == PATIENT or family == "bp-cuff")
    }:
        of_it = [each for each in call_type.profiles if problem in {"", each.problem}]
        sizes = {world.bands[band].size for each in of_it for band in each.shares}
        asked = {
            each.size
            for each in needs
            if each.problem == problem
            and each.need.startswith((family, OF_INFANTS.get(family, family)))
            and not each.need.endswith("-large")
        }
        assert asked == sizes or (asked == {"any"} and len(sizes) == 1), (family, problem)


@pytest.mark.parametrize("slug", SLUGS)
def test_what_is_to_be_brought_harms_nobody_there(
    slug: str, loaded: tuple[dict[str, CallType], CallWorld]
) -> None:
    """Nothing by mouth for who cannot swallow, no nitrate for a pressure that is down, no sedation
    of who is quiet already, and a mask of the child with the nebuliser of a child."""
    call_type, world = loaded[0][slug], loaded[1]
    for seed in range(200):
        made = make_call(call_type, world, seeded(f"harm:{slug}:{seed}"), most=1)
        if len(made.patients) > 1:
            continue
        (patient,) = made.patients
        signs = {name: value.split()[0] for name, value in patient.signs}
        wanted = {each.need for each in made.needs if each.grade != NEEDLESS}
        if int(signs.get("Coma scale", 15)) <= 8:
            assert not wanted & {"oral-glucose", "aspirin-81"}, patient
        if signs.get("Systolic", "none") == "none" or int(signs["Systolic"]) < 100:
            assert "nitroglycerin-tablets" not in wanted, patient
        if "suddenly quiet" in patient.findings:
            assert not wanted & {"midazolam", "ketamine"}, patient
        if patient.size == "child" and "nebuliser-adult" in wanted:
            assert "nebuliser-mask-child" in wanted, patient


def test_neither_sex_nor_age_says_what_is_wrong() -> None:
    """Each problem of a call has the ages of the call, and half are women; by anatomy or by
    definition a problem may be of some alone, and then the table of problems says so."""
    for row in json.loads((FIXTURES / "call_types.json").read_text(encoding="utf-8")):
        profiles = row["fields"]["patients"]
        for each in profiles:
            kind = PROBLEMS[each["problem"]]
            assert each["female_share"] == (1.0 if kind.sex == "female" else 0.5), each
            assert each["age_from_y"] is None or kind.ages != "any", each
        for one, other in combinations(profiles, 2):
            shared = sorted(set(one["age_bands"]) & set(other["age_bands"]))
            shares = [[each["age_bands"][band] for band in shared] for each in (one, other)]
            assert len(shared) < 2 or shares[0] == shares[1], (one, other)


@pytest.mark.parametrize("slug", SLUGS)
def test_one_patient_is_never_told_in_the_plural(
    slug: str, loaded: tuple[dict[str, CallType], CallWorld]
) -> None:
    """No `one people`: where one may be alone, what follows the count is no plural."""
    call_type = loaded[0][slug]
    always = sum(each.is_always for each in call_type.profiles)
    plural = re.compile(r"\{count\} (people|\w+s)\b")
    if max(call_type.least, always) == 1:
        assert not [each.text for each in call_type.phrases if plural.search(each.text)]


def test_loading_again_changes_nothing() -> None:
    for _ in range(2):
        call_command("loaddata", *FIXTURES.glob("*.json"), verbosity=0)

    assert CallTypeRow.objects.count() == len(SLUGS) == 26
    assert Problem.objects.count() == 50


@pytest.mark.parametrize("slug", SLUGS)
def test_no_two_of_two_hundred_calls_are_alike(
    slug: str, loaded: tuple[dict[str, CallType], CallWorld]
) -> None:
    """Alike means the same patients, as made and as told, under the same dispatch text."""
    types, world = loaded
    calls = {
        (
            made.dispatch,
            tuple(
                (p.problem, p.severity, p.age_y, p.is_female, p.weight, p.findings)
                for p in made.patients
            ),
        )
        for made in (make_call(types[slug], world, seeded(f"{slug}:{n}")) for n in range(1, 201))
    }

    assert len(calls) == 200


@pytest.mark.parametrize("slug", SLUGS)
def test_findings_stand_where_a_label_would(
    slug: str, loaded: tuple[dict[str, CallType], CallWorld]
) -> None:
    types, world = loaded
    for seed in range(1, 41):
        for each in make_call(types[slug], world, seeded(f"{slug}:{seed}")).patients:
            assert each.findings
            assert world.problems[each.problem].name.casefold() not in each.findings.casefold()
            assert each.signs
