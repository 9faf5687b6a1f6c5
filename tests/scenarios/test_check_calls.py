"""The command that says which call types a layout cannot serve."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from drills.rigs.models import Need
from drills.scenarios.models import CallType
from tests.calls import need

pytestmark = pytest.mark.django_db


def check(*options: str) -> tuple[int, str]:
    """What the command leaves with, and what it prints."""
    out = StringIO()
    try:
        call_command("check_calls", "practice-rig", *options, stdout=out)
    except SystemExit as left:
        return int(str(left.code)), out.getvalue()
    return 0, out.getvalue()


@pytest.fixture
def short(bleeding: CallType) -> CallType:
    """A must-have that is not aboard, and one thing useful."""
    for key in ("quince", "tape"):
        Need.objects.create(key=key, name_us=key.capitalize(), name_intl=key, category="x")
    bleeding.needs = [*bleeding.needs, need("quince", "must"), need("tape", "useful")]
    bleeding.save()
    return bleeding


def test_a_layout_that_has_every_must_have_is_let_pass(bleeding: CallType) -> None:
    code, told = check()

    assert code == 0
    assert "bleeding: served" in told
    assert "practice-rig has every must-have of 1 of 1 call types." in told


def test_what_is_useful_and_missing_is_said_and_fails_nothing(bleeding: CallType) -> None:
    Need.objects.create(key="tape", name_us="Tape", name_intl="Tape", category="x")
    bleeding.needs = [*bleeding.needs, need("tape", "useful")]
    bleeding.save()

    code, told = check()

    assert code == 0
    assert "useful: Tape, 0 of 1" in told


def test_a_must_have_that_is_missing_is_said_and_fails(short: CallType) -> None:
    code, told = check()

    assert code == 1
    assert "bleeding: cannot be served\n  must: Quince, 0 of 1\n  useful: Tape, 0 of 1" in told
    assert "practice-rig has every must-have of 0 of 1 call types." in told


def test_too_few_fail_as_well_and_are_told_apart(bleeding: CallType) -> None:
    bleeding.needs[0]["quantity"] = 99
    bleeding.save()

    code, told = check()

    assert code == 1
    assert "bleeding: too few for the most patients" in told


def test_as_json_it_says_the_same(short: CallType) -> None:
    code, told = check("--json")

    assert code == 1
    (found,) = json.loads(told)
    assert (found["call_type"], found["state"]) == ("bleeding", "cannot be served")
    assert (found["enough_for"], found["most"]) == (0, 2)
    assert found["lacks"][0] == {
        "need": "quince",
        "grade": "must",
        "asked": 1,
        "aboard": 0,
        "waiting": [],
        "is_brought": False,
    }


def test_a_layout_that_is_none_is_named(bleeding: CallType) -> None:
    with pytest.raises(CommandError, match="'hovercraft' is no published layout; there are: pract"):
        call_command("check_calls", "hovercraft")
