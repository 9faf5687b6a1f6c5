"""Scenes of all call types that come with the product, drawn many times: hazards and reports."""

import pytest

from drills.engine.arriving.checking import odd_in
from drills.engine.arriving.reporting import REPORT, report
from drills.engine.arriving.sight import Scene, said_in, scene_of
from drills.engine.arriving.tables import HAZARDS
from drills.engine.calls import NEEDLESS, Call
from drills.engine.chance import seeded
from drills.engine.dispatch import make_call
from tests.engine.fixture_world import call_types, world

SLUGS = sorted(call_types())
SEEDS = range(40)
# What burns, or feeds a fire: an extinguisher brought there is no mistake.
BURNS = {"fuel", "fire", "cylinder"}


def drawn(slug: str, *, transports: bool = True) -> list[tuple[Call, Scene]]:
    kind = call_types()[slug]
    calls = [make_call(kind, world(), seeded(f"scene:{slug}:{seed}")) for seed in SEEDS]
    return [(each, scene_of(kind, each, transports=transports, threshold=3)) for each in calls]


@pytest.mark.parametrize("slug", SLUGS)
def test_every_scene_has_a_hazard_and_nothing_is_both_there_and_possible(slug: str) -> None:
    """What the kind of call lists is free where the caller says something narrower."""
    kind = call_types()[slug]
    for made, scene in drawn(slug):
        assert scene.here, made.dispatch
        assert not {*scene.here} & {*scene.possible}
        assert {*kind.hazards_here, *kind.hazards_possible} <= {*scene.here, *scene.possible}
        assert len(HAZARDS) - len({*scene.here, *scene.possible}) >= 6
        assert {*scene.asks_for} <= {*kind.asks_for, *kind.may_ask_for}
        assert {*kind.asks_for} <= {*scene.asks_for, *scene.may_ask_for}
        assert not {*scene.asks_for} & {*scene.may_ask_for}


@pytest.mark.parametrize("slug", SLUGS)
@pytest.mark.parametrize("transports", [True, False])
def test_every_report_is_sound_and_has_one_number_of_ambulances(
    slug: str, *, transports: bool
) -> None:
    """At every difficulty; a rig that takes nobody along needs one more at least."""
    kind = call_types()[slug]
    for at, (made, scene) in enumerate(drawn(slug, transports=transports)):
        asked = report(kind, scene, at % 5 + 1, seeded(f"report:{at}"))
        assert odd_in(asked, "You give the first report.", "You see them.") == ()
        more = next(each for each in asked.groups if each.key == "more")
        assert len(more.right) == 1, made.dispatch
        assert transports or more.right != ("0",)
        assert asked.task == REPORT


def test_what_must_be_in_a_report_differs_from_call_to_call() -> None:
    """No six that are always the same: at least three sets of musts, by the scene."""
    found = set()
    for slug in SLUGS:
        for _, scene in drawn(slug):
            says = report(call_types()[slug], scene, 3, seeded("says")).groups[0]
            words = {each.key: each.words for each in says.choices}
            found.add((says.right, words.get("hazards")))
    assert len({right for right, _ in found}) >= 8
    assert len(found) >= 80


@pytest.mark.parametrize(
    ("slug", "words", "here", "not_here"),
    [
        ("envenomation", "stung in bed", {"stings"}, {"heat-cold"}),
        ("envenomation", "stepping over a log", {"stings", "heat-cold"}, set()),
        ("burns", "welding tank", {"fire", "cylinder"}, {"wires", "collapse", "chemical"}),
        ("burns", "pan of soup", {"hot"}, {"fire", "smoke", "wires", "chemical"}),
        ("burns", "live lead", {"wires"}, {"fire", "chemical"}),
        ("opioid-overdose", "in the washroom", {"needles", "violence"}, {"traffic"}),
        ("opioid-overdose", "patch on the back", set(), {"needles", "violence", "traffic"}),
        ("childbirth", "on the shoulder", {"traffic", "blood"}, {"wet-floor"}),
        ("childbirth", "coming in the bathroom", {"wet-floor", "blood"}, {"traffic"}),
        ("cardiac-arrest-child", "stock tank", {"water"}, set()),
        ("cardiac-arrest-child", "found in the cot", {"crowd"}, {"water", "wet-floor"}),
        ("major-haemorrhage", "chainsaw", {"machine", "blood"}, {"violence"}),
        ("major-haemorrhage", "shooting at", {"violence", "blood"}, {"machine", "glass"}),
        ("spinal-injury", "thrown from a horse", {"dog"}, {"water", "height", "collapse"}),
        ("heat-illness", "without a cooler", {"heat-cold"}, {"machine", "water"}),
        ("anaphylaxis", "nut bar", {"trigger"}, {"stings"}),
    ],
)
def test_hazards_are_those_of_the_place(
    slug: str, words: str, here: set[str], not_here: set[str]
) -> None:
    """As a dispatcher hears them: our own reading of each phrase, no source."""
    phrase = next(each for each in call_types()[slug].phrases if words in each.text.casefold())
    made = Call(slug, "", phrase.text, (), ())
    scene = scene_of(call_types()[slug], made, transports=True, threshold=3)
    assert said_in(phrase.text)
    assert here <= {*scene.here}
    assert not not_here & {*scene.here}


@pytest.mark.parametrize("slug", SLUGS)
def test_an_extinguisher_is_never_needless_where_something_may_burn(slug: str) -> None:
    """Where fuel leaks, something burns or a tank is near, the call counts it as useful."""
    wanted = {each.need for each in call_types()[slug].needs if each.grade != NEEDLESS}
    for made, scene in drawn(slug):
        if BURNS & {*scene.here}:
            assert "fire-extinguisher" in wanted, made.dispatch


@pytest.mark.parametrize(
    ("slug", "words", "asks", "free"),
    [
        ("offroad-rollover", "dirt bike", set(), {"rescue", "search"}),
        ("offroad-rollover", "canyon lip", {"rescue"}, set()),
        ("offroad-rollover", "under a quad", set(), {"rescue"}),
        ("water-rescue", "now on the bank", set(), {"water-team"}),
        ("water-rescue", "out of the water", set(), {"water-team"}),
        ("water-rescue", "holding a fence", {"water-team"}, set()),
        ("multi-vehicle", "semi and minivan", {"rescue", "police"}, {"fire"}),
        ("multi-vehicle", "car under a trailer", {"fire", "police"}, {"rescue"}),
        ("bus-rollover", "across both lanes", {"fire", "police"}, {"rescue"}),
        ("structure-fire", "fire standby", set(), {"fire"}),
        ("structure-fire", "flames through", {"fire"}, set()),
        ("pesticide", "garlic smell", set(), {"hazmat"}),
        ("pesticide", "spray tank", {"hazmat"}, set()),
        ("behavioural", "deputies are on scene", set(), {"police"}),
        ("opioid-overdose", "patch on the back", set(), {"police"}),
        ("burns", "live lead", {"fire", "utility"}, set()),
    ],
)
def test_whom_to_ask_for_follows_what_the_caller_says(
    slug: str, words: str, asks: set[str], free: set[str]
) -> None:
    """Nobody is freed who lies in the open, no team sent for who is out of the water, and who is
    on the way already need not be asked for again. Ours, no source."""
    phrase = next(each for each in call_types()[slug].phrases if words in each.text.casefold())
    scene = scene_of(
        call_types()[slug], Call(slug, "", phrase.text, (), ()), transports=True, threshold=3
    )
    assert {*scene.asks_for} >= asks
    assert {*scene.may_ask_for} >= free


def test_who_is_seen_under_a_machine_has_a_rescue_crew_asked_for() -> None:
    """Unless it is on the way; who lies free has none, whatever the kind of call. Of many nobody
    is looked at yet when the report is given."""
    kind = call_types()["offroad-rollover"]
    seen = set()
    for at in range(300):
        made = make_call(kind, world(), seeded(f"under:{at}"))
        scene = scene_of(kind, made, transports=True, threshold=3)
        is_under = any("under the machine" in each.findings for each in made.patients)
        is_coming, is_over = (
            words in made.dispatch for words in ("rescue are on the way", "canyon lip")
        )
        seen.add((is_under, is_coming, is_over))
        assert ("rescue" in scene.asks_for) == (not is_coming and (is_under or is_over))
        many = scene_of(kind, made, transports=True, threshold=1)
        assert ("rescue" in many.asks_for) == is_over
    assert {(True, True, False), (True, False, False), (False, False, False)} <= seen
