"""The command that simulates coverage: one JSON document, and plain refusals."""

import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from drills.demo.factories import RecipeFactory
from drills.rigs.models import Rig

pytestmark = pytest.mark.django_db


def run(*arguments: str) -> tuple[dict[str, Any], str]:
    out, err = StringIO(), StringIO()
    call_command("simulate_coverage", *arguments, stdout=out, stderr=err)
    return json.loads(out.getvalue()), err.getvalue()


def test_tells_what_was_met_and_lists_what_was_not(rig: Rig) -> None:
    RecipeFactory.create(slug="two", kinds="locate:2")

    found, progress = run(
        rig.layout.slug, "--recipe", "two", "--days", "3", "--a-week", "2", "--people", "2"
    )

    assert (found["simulated"], found["lines"], found["revision"]) == (True, 11, 1)
    first, second = found["people"]
    assert first["met"] + len(first["not_met"]) == 11
    assert first["drills"] == 1
    assert set(first["not_met"][0]) == {"place", "path", "thing"}
    assert first != second
    assert progress.splitlines() == ["person 1 of 2", "person 2 of 2"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("elsewhere",), "No layout 'elsewhere'; there are: practice-rig."),
        (("practice-rig",), "No recipe 'find-ten'; there are: none."),
        (("practice-rig", "--days", "0"), "--days 0; 1 to 730 is accepted."),
        (("practice-rig", "--days", "731"), "--days 731; 1 to 730 is accepted."),
        (("practice-rig", "--days", "ten"), "argument --days: invalid int value: 'ten'"),
        (("practice-rig", "--a-week", "15"), "--a-week 15; 1 to 14 is accepted."),
        (("practice-rig", "--people", "0"), "--people 0; 1 to 50 is accepted."),
        (("practice-rig", "--people", "51"), "--people 51; 1 to 50 is accepted."),
        (("practice-rig", "--knows", "1.5"), "--knows 1.5; 0 to 1 is accepted."),
        (("practice-rig", "--knows", "nan"), "--knows nan; 0 to 1 is accepted."),
        (("practice-rig", "--revision", "0"), "practice-rig has no revision 0; there are: 1."),
        (("practice-rig", "--revision", "4"), "practice-rig has no revision 4; there are: 1."),
    ],
)
def test_refuses_in_one_line_what_it_cannot_simulate(
    rig: Rig, arguments: tuple[str, ...], message: str
) -> None:
    with pytest.raises(CommandError, match=message.replace(".", r"\.")):
        run(*arguments)
