"""The door `triage`: one JSON object in, one out, and no database."""

import io
import json
import sys
from typing import Any
from unittest import mock

import pytest
from django.core.management import call_command

from tests.engine.test_triage import VIGNETTES
from tests.engine.test_triage_field import WELL


def comes_out(given: Any) -> tuple[dict[str, Any], int]:
    """What is printed, and the code it ends with; text and bytes go in as they are."""
    text = given if isinstance(given, str | bytes) else json.dumps(given)
    sent = text if isinstance(text, bytes) else text.encode()
    out, code = io.StringIO(), 0
    with mock.patch.object(sys, "stdin", io.TextIOWrapper(io.BytesIO(sent), "utf-8")):
        try:
            call_command("triage", stdout=out)
        except SystemExit as end:
            code = int(str(end.code))
    return json.loads(out.getvalue()), code


@pytest.mark.parametrize("row", VIGNETTES, ids=lambda row: f"{row['id']}-{row['scheme']}")
def test_every_vignette_goes_through_the_door(row: dict[str, Any]) -> None:
    told = {"perfusion": row["perfusion"]} if row["perfusion"] else {}

    printed, code = comes_out({"scheme": row["scheme"], **row["findings"], **told})

    assert (printed["category"], code) == (row["category"], 0)
    assert set(printed) == {"category", "path"}


def test_a_needed_finding_is_named_and_nothing_else() -> None:
    given = {"scheme": "start", "walks": False, "breathes": True, "rate": 20}

    assert comes_out(given) == ({"category": None, "needs": "pulse"}, 0)
    assert comes_out({**given, "perfusion": "refill"})[0]["needs"] == "refill_s"


def test_a_second_look_and_the_field_criteria_are_asked_for_by_name() -> None:
    walker = {"scheme": "start", "walks": True, "breathes": True, "rate": 34}

    assert comes_out(walker)[0]["category"] == "minor"
    assert comes_out({**walker, "second_look": True})[0]["category"] == "immediate"
    assert comes_out({"scheme": "field", **WELL, "rate": 9})[0]["category"] == "red"


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ("{", "standard input"),
        ("[]", "standard input"),
        ({"walks": True}, "scheme"),
        ({"scheme": "sieve"}, "scheme"),
        ({"scheme": ["start"]}, "scheme"),
        ({"scheme": "start", "walks": "no"}, "walks"),
        ({"scheme": "start", "walks": True, "breathes": False}, "walks"),
        ({"scheme": "start", "walks": True, "second_look": "yes"}, "second_look"),
        ({"scheme": "field", "second_look": True}, "second_look"),
        ('{"scheme": "start", "rate": NaN}', "rate"),
        ('{"scheme": "start", "rate": -Infinity}', "rate"),
        ({"scheme": "start", "rate": 10**400}, "rate"),
        ({"scheme": "start", "refill_s": [2]}, "refill_s"),
        ({"scheme": "jumpstart", "avpu": {}}, "avpu"),
        ({"scheme": "salt", "obeys": 0}, "obeys"),
        ({"scheme": "salt", "hopeful": True}, "hopeful"),
        ({"scheme": "field", "age_y": 10**400}, "age_y"),
        ({"scheme": "field", "injuries": "pelvis"}, "injuries"),
        ({"scheme": "field", "injuries": [None]}, "injuries[0]"),
        ({"scheme": None, "rate": 20}, "scheme"),
        ("null", "standard input"),
        ("", "standard input"),
        (b'{"scheme": "\xff"}', "standard input"),
        ('{"scheme": "start", "rate": 20, "rate": 40}', "rate"),
    ],
)
def test_what_cannot_be_understood_ends_with_two_and_names_the_field(
    given: Any, field: str
) -> None:
    printed, code = comes_out(given)

    assert code == 2
    assert printed["error"].startswith(f"{field}: ")
