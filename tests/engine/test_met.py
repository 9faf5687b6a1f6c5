"""Coverage, simulated: who drills twice a week meets every stock line in a quarter."""

import pytest

from drills.engine.generation import plan_drill
from drills.engine.met import lines_of, simulate
from drills.engine.recipes import CONTENTS, LOCATE, RecipeSpec
from tests.layouts import DEMO_LAYOUTS, FIXTURES, demo_layout, practice_rig
from tests.reference import recipe


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
@pytest.mark.parametrize("knows", [0.6, 0.9])
def test_every_stock_line_is_met_within_90_days_at_two_drills_a_week(
    name: str, knows: float
) -> None:
    """On each layout of the demonstration, whether little is known or much: nothing is left."""
    for seed in range(2):
        met = simulate(demo_layout(name), recipe("find-ten"), seed=seed, knows=knows)

        assert met.drills == 26
        assert met.unmet == ()
        assert len(met.met) == len(met.lines)


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_only_a_probe_repeats_in_a_week_what_was_right(name: str) -> None:
    """And few do: what comes again by chance is some in a hundred of the prompts."""
    met = simulate(demo_layout(name), recipe("find-ten"), seed=3)

    assert met.repeats == met.probes
    assert met.repeats < 0.05 * met.prompts


def test_too_few_drills_leave_lines_and_they_are_named() -> None:
    """One drill a week for a month reaches a part: the rest is listed in the layout's order."""
    rig = demo_layout("mesa-box")
    met = simulate(rig, recipe("find-ten"), seed=1, days=28, a_week=1)

    assert met.drills == 4
    assert set(met.unmet) | set(met.met) == set(met.lines)
    assert set(met.unmet).isdisjoint(met.met)
    assert len(met.unmet) > 100
    assert met.share_by(0) < met.share_by(7) < met.share_by(27) < 1


def test_a_line_is_met_where_it_is_part_of_a_right_answer() -> None:
    """A double counts with both its places, contents with all that is asked; an outlet is none."""
    every = RecipeSpec("every", ((LOCATE, 40), (CONTENTS, 40)))
    rig = practice_rig()
    found = {
        (each.kind, each.subject): set(lines_of(rig, each))
        for each in plan_drill(rig, every, seed=1).prompts
    }

    assert found[LOCATE, "tourniquet"] == {("BAG-M", "tourniquet"), ("I1A", "tourniquet")}
    assert found[CONTENTS, "I1B"] == {("I1B", "midazolam"), ("I1B", "fentanyl")}
    assert found[LOCATE, "oxygen outlet"] == set()


NAMED = dict(
    zip(
        DEMO_LAYOUTS,
        ("Mesa box, revision 1", "Mesa box, revision 2", "Arroyo van", "First-response truck"),
        strict=True,
    )
)


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_the_manual_tells_what_is_simulated(name: str) -> None:
    """Each row of its table is the least of five people, as the command simulates them."""
    rig = demo_layout(name)
    people = [simulate(rig, recipe("find-ten"), seed=seed) for seed in range(5)]
    shares = (min(each.share_by(day) for each in people) for day in (30, 60, 90))
    told = (NAMED[name], len(people[0].lines), *(f"{int(100 * share)} %" for share in shares))
    unmet = max(len(each.unmet) for each in people)

    manual = (FIXTURES.parent / "drills" / "guide" / "educator.md").read_text(encoding="utf-8")
    assert f"| {' | '.join(map(str, told))} | {unmet} |" in manual
    assert max(each.repeats for each in people) <= 11
