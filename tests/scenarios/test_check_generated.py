"""The command that makes calls by the thousand and lists what is odd in them."""

import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from drills.rigs.models import Rig
from drills.scenarios.models import CallType

pytestmark = pytest.mark.django_db


def run(*arguments: str) -> dict[str, Any]:
    out = StringIO()
    call_command("check_generated", *arguments, stdout=out)
    found = json.loads(out.getvalue())
    assert isinstance(found, dict)
    return found


def test_tells_what_is_short_and_finds_nothing_odd(rig: Rig, bleeding: CallType) -> None:
    bleeding.needs[0]["quantity"] = 9
    bleeding.save()

    found = run(rig.layout.slug, "--calls", "20")

    assert (found["calls"], found["patients"], found["odd"]) == (20, 40, 0)
    assert found["told_short"] == {"Tourniquet-limb": 20}


def test_lists_what_is_odd_with_its_seed_and_fails(rig: Rig, bleeding: CallType) -> None:
    bleeding.phrases[0]["text"] = "{count} hurt at at {place}."
    bleeding.save()
    out = StringIO()

    with pytest.raises(SystemExit) as ended:
        call_command("check_generated", rig.layout.slug, "--calls", "3", stdout=out)

    assert ended.value.code == 1
    found = json.loads(out.getvalue())
    assert found["odd"] == 3
    assert [each["seed"] for each in found["oddities"]] == [0, 1, 2]
    assert "a word comes twice" in found["oddities"][0]["says"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("elsewhere",), "No published layout 'elsewhere'; there are: practice-rig."),
        (("practice-rig", "--calls", "0"), "--calls 0; 1 to 20000 is accepted."),
    ],
)
def test_refuses_in_one_line(rig: Rig, arguments: tuple[str, ...], message: str) -> None:
    with pytest.raises(CommandError, match=message):
        run(*arguments)
