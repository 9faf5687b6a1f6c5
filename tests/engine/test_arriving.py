"""Arriving: the first-in kit of a rig, what is worn and looked for, the report, and two crews."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal

import pytest

from drills.engine.arriveplan import Arrival
from drills.engine.arriving.covering import covering
from drills.engine.arriving.crews import (
    FIRST,
    ONLY,
    SECOND,
    Crew,
    crew_of,
    is_second_crew,
    told_to,
)
from drills.engine.arriving.handed import kit_needs
from drills.engine.arriving.known import Known, known_of
from drills.engine.arriving.offering import Offer, offered
from drills.engine.arriving.reporting import report
from drills.engine.arriving.scene import duties
from drills.engine.arriving.sight import scene_of
from drills.engine.arriving.tables import DUTIES, MAY, WRONG
from drills.engine.calls import (
    ANY_SIZE,
    CALL,
    MUST,
    NEEDLESS,
    PATIENT,
    USEFUL,
    AgeBand,
    Asked,
    Call,
    CallNeed,
    CallType,
    CallWorld,
    Patient,
    Phrase,
    Profile,
)
from drills.engine.chance import seeded
from drills.engine.choosing import Choosing, Group, mark_chosen
from drills.engine.layout import Compartment, Layout, StockLine
from drills.engine.recipes import ARRIVE, DOSE, STAGE, TRIAGE, RecipeSpec
from drills.engine.wanted import Wanted, want

WORLD = CallWorld(
    {"adult": AgeBand("adult", 18, 65, "adult"), "child": AgeBand("child", 3, 12, "child")},
    {},
    (),
    (),
)
BLEED = Profile("bleed", {"adult": 1}, (None, None), 0.5, False, 1, (2, 3))
FRACTURE = replace(BLEED, problem="fracture")
MOTHER = replace(BLEED, problem="birth", is_always=True)
# What comes to every patient, here to adults.
ALWAYS_THERE = ["bag-valve-mask-adult"]


def need(key: str, grade: str = MUST, per: str = CALL, **other: object) -> CallNeed:
    return replace(CallNeed(key, grade, 1, per, name=key.capitalize()), **other)  # type: ignore[arg-type]  # a field by its name


def call_type(
    *needs: CallNeed, profiles: tuple[Profile, ...] = (BLEED,), **other: object
) -> CallType:
    plain = CallType("bleeding", "Bleeding", 1, 9, (), (), profiles, needs, size_up="One bleeding")
    return replace(plain, **other)  # type: ignore[arg-type]  # a field by its name


def line(place: str, item: str, kg: str = "0.1", **other: str) -> StockLine:
    return StockLine(place, item, 2, weight_kg=Decimal(kg), **other)  # type: ignore[arg-type]  # its text fields


RIG = Layout(
    "Rig",
    "rig",
    compartments=(
        Compartment("C1", "Cabinet", face="curb"),
        Compartment("RED", "Red bag", inside="C1", carried="one-hand"),
        Compartment("RED-P", "Pocket", inside="RED", carried="one-hand"),
        Compartment("BLUE", "Blue bag", inside="C1", carried="one-hand"),
        Compartment("MON", "Monitor", face="curb", carried="one-hand"),
        Compartment("SAFE", "Safe", inside="C1", locked=True),
        Compartment("NARC", "Narcotics pouch", inside="SAFE", carried="one-hand"),
    ),
    stock=(
        line("RED-P", "Tourniquet"),
        line("BLUE", "Tourniquet"),
        line("RED", "Airway set"),
        line("BLUE", "Dressing"),
        line("MON", "Monitor", "8"),
        line("NARC", "Morphine"),
        line("C1", "Scoop", "8"),
        line("C1", "Sandbag", "9"),
        line("C1", "Blanket", category="moving patients"),
        line("RED", "Blanket", category="moving patients"),
        line("C1", "Gloves"),
        line("C1", "Helmet"),
        line("C1", "Vest"),
        line("C1", "Goggles"),
    ),
)
TIES = {
    "tourniquet": "tourniquet-limb",
    "airway set": "airway",
    "dressing": "dressing",
    "monitor": "monitor-defibrillator",
    "morphine": "morphine",
    "scoop": "scoop-stretcher",
    "sandbag": "sandbag",
    "blanket": "blanket",
    "gloves": "gloves-exam",
    "helmet": "helmet",
    "vest": "high-visibility-vest",
    "goggles": "eye-protection",
}


def call(patients: int = 1, *needs: Asked) -> Call:
    hurt = Patient(1, "bleed", 2, "adult", "adult", 30, True, "70 kg", "a woman", "Hurt", ())
    people = tuple(replace(hurt, number=at, severity=1 + at % 3) for at in range(1, patients + 1))
    return Call("bleeding", "Bleeding", "Somebody bleeds.", people, needs)


def asked_of(
    kind: CallType,
    *,
    layout: Layout = RIG,
    held: tuple[tuple[str, str], ...] = (),
    patients: int = 1,
    crew: Crew | None = None,
    difficulty: int = 5,
    ties: Mapping[str, str] = TIES,
) -> dict[str, Choosing]:
    """The questions of arriving by their task."""
    arrival = Arrival(layout, ties, held, (kind,), WORLD, 3, difficulty)

    def wants(asked: Iterable[Asked]) -> tuple[Wanted, ...]:
        return want(layout, ties, asked, held)

    airway = Asked("airway", MUST, 1, patients=(1,))
    made = arrival.asked(call(patients, airway), crew or Crew(ONLY, (1,)), wants, seeded("x"))
    return {each.subject: each.choosing for each in made if each.choosing}


def group(asked: Choosing, key: str) -> Group:
    return next(each for each in asked.groups if each.key == key)


def outcome(asked: Choosing, *said: str) -> str:
    return mark_chosen([each.answer() for each in asked.groups], said).outcome


def test_of_two_bags_that_hold_the_same_one_is_enough() -> None:
    """Either is right and so are both; neither is wrong, whatever else comes."""
    kit = asked_of(call_type(need("tourniquet-limb"), need("monitor-defibrillator")))["kit"]

    assert outcome(kit, "kit:bag RED", "kit:bag MON") == "right"
    assert outcome(kit, "kit:bag BLUE", "kit:bag MON") == "right"
    assert outcome(kit, "kit:bag BLUE", "kit:bag RED", "kit:bag MON") == "right"
    assert outcome(kit, "kit:bag MON") == "wrong"
    assert outcome(kit, "kit:bag RED") == "wrong"
    assert kit.why == (
        "Monitor: Monitor-defibrillator.",
        "Red bag or Blue bag: Tourniquet-limb.",
    )


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (3, "Red bag: Thing-0; Thing-1; Thing-2."),
        (4, "Red bag: Thing-0; Thing-1; Thing-2 and 1 more."),
        (6, "Red bag: Thing-0; Thing-1; Thing-2 and 3 more."),
    ],
)
def test_of_what_a_bag_is_taken_for_three_are_named(count: int, said: str) -> None:
    """And how many more there are."""
    things = [f"thing-{n}" for n in range(count)]
    layout = replace(RIG, stock=(*RIG.stock, *(line("RED", each) for each in things)))
    ties = {**TIES, **{each: each for each in things}}

    kit = asked_of(call_type(*map(need, things)), layout=layout, ties=ties)["kit"]

    assert said in kit.why


def test_what_alone_holds_a_must_have_comes_and_covers_the_rest() -> None:
    """With the one that nothing replaces there, the other source is as free as it is useless."""
    kit = asked_of(call_type(need("airway"), need("tourniquet-limb")))["kit"]

    assert group(kit, "kit").right == ("bag RED",)
    assert group(kit, "kit").one_of == ()
    assert outcome(kit, "kit:bag RED") == "right"
    assert outcome(kit, "kit:bag RED", "kit:bag BLUE") == "right"
    assert outcome(kit, "kit:bag BLUE") == "wrong"


def test_what_nobody_asked_for_takes_marks_and_does_not_fail() -> None:
    """A bag with nothing of it; the monitor is of the baseline of every call."""
    kit = asked_of(call_type(need("airway"), need("scoop-stretcher", NEEDLESS)))["kit"]

    assert outcome(kit, "kit:bag RED", "kit:bag BLUE") == "partly"
    assert outcome(kit, "kit:bag RED", "kit:bag MON") == "right"


def test_a_line_that_is_not_in_its_place_is_no_source() -> None:
    """The tourniquet of the red bag is reported missing: the blue one alone has it."""
    kit = asked_of(call_type(need("tourniquet-limb")), held=(("tourniquet", "RED-P"),))["kit"]

    assert group(kit, "kit").right == ("bag BLUE",)


def test_what_depends_on_who_is_there_is_not_certain_from_the_dispatch() -> None:
    """Of one problem of two, or one size: it may come and need not."""
    of_one = need("dressing", per=PATIENT, problem="bleed")
    both = call_type(need("airway"), of_one, profiles=(BLEED, FRACTURE))
    kit = group(asked_of(both)["kit"], "kit")
    assert (kit.right, "bag BLUE" in kit.may) == (("bag RED",), True)

    alone = call_type(need("airway"), of_one, profiles=(BLEED,))
    assert group(asked_of(alone)["kit"], "kit").right == ("bag RED", "bag BLUE")

    child = replace(of_one, problem="", size="child")
    mixed = replace(BLEED, shares={"adult": 1, "child": 1})
    assert [
        each.need for each in known_of(call_type(child, profiles=(mixed,)), WORLD, call()).certain
    ] == ALWAYS_THERE
    worse = replace(of_one, severities=(3,))
    assert [each.need for each in known_of(call_type(worse), WORLD, call()).certain] == ALWAYS_THERE


def test_what_whoever_is_always_there_needs_is_certain() -> None:
    """Though the others that may come do not need it."""
    of_mother = need("dressing", per=PATIENT, problem="birth")
    known = known_of(call_type(of_mother, profiles=(BLEED, MOTHER)), WORLD, call())
    assert [each.need for each in known.certain] == ["dressing", *ALWAYS_THERE]


def test_what_comes_with_whoever_is_always_there_is_certain_too() -> None:
    """The caller tells of the mother, and the baby is there as well."""
    baby = replace(MOTHER, problem="baby", shares={"child": 1})
    kind = call_type(
        need("towel", per=PATIENT, problem="baby"),
        need("mask", per=PATIENT, size="child"),
        need("pad", per=PATIENT, problem="bleed"),
        profiles=(MOTHER, baby, BLEED),
    )
    told = replace(call(2), said=SAID["who"])
    assert [each.need for each in known_of(kind, WORLD, told).certain] == [
        "towel",
        "mask",
        *ALWAYS_THERE,
    ]


def test_a_pack_for_a_birth_is_carried_though_it_lies_in_no_bag() -> None:
    """Light as it is, it is offered beside the bags, and has to come where it is wanted."""
    pack = line("C1", "Birth pack", "1")
    kit = asked_of(
        call_type(need("obstetric-kit"), need("airway")),
        layout=replace(RIG, stock=(*RIG.stock, pack)),
        ties={**TIES, "birth pack": "obstetric-kit"},
    )["kit"]
    assert group(kit, "kit").right == ("bag RED", "thing birth pack")


def test_heavy_things_are_asked_for_where_some_call_wants_them_and_locked_ones_never() -> None:
    """The scoop is; the sandbag that no call wants is not, nor what is behind a lock."""
    kit = group(asked_of(call_type(need("airway"), need("scoop-stretcher")))["kit"], "kit")
    offered_keys = {each.key for each in kit.choices}

    assert "thing scoop" in kit.right
    assert offered_keys == {"bag RED", "bag BLUE", "bag MON", "thing scoop"}


def test_nobody_takes_a_bag_for_one_blanket() -> None:
    """It lies in the cabinet as well; where it does not, the bag has to come."""
    kind = call_type(need("blanket"), need("monitor-defibrillator"))
    assert group(asked_of(kind)["kit"], "kit").right == ("bag MON",)

    without = replace(
        RIG, stock=tuple(e for e in RIG.stock if (e.compartment, e.key) != ("C1", "blanket"))
    )
    assert group(asked_of(kind, layout=without)["kit"], "kit").right == ("bag RED", "bag MON")


def test_without_anything_certain_to_bring_no_kit_is_asked() -> None:
    """What is aboard of nothing, or is useful alone, makes no question."""
    kind = call_type(need("unheard-of"), need("dressing", USEFUL))
    assert "kit" not in asked_of(kind)


def test_where_all_that_is_carried_has_to_come_no_kit_is_asked() -> None:
    """There is nothing to choose: a rig of one bag, which holds what is wanted."""
    one = replace(RIG, stock=(line("RED", "Airway set"),), compartments=RIG.compartments[:2])
    assert "kit" not in asked_of(call_type(need("airway")), layout=one)


def test_a_stand_in_that_lies_loose_takes_nothing_from_what_is_heavy() -> None:
    """Water may serve in place of the scoop and fits a pocket; the scoop is what is wanted."""
    light = replace(RIG, stock=(*RIG.stock, line("C1", "Water", category="moving patients")))
    kind = call_type(need("airway"), need("scoop-stretcher", instead=("water",)))
    kit = group(asked_of(kind, layout=light, ties={**TIES, "water": "water"})["kit"], "kit")

    assert kit.right == ("bag RED", "thing scoop")


SAID = {
    "who": Phrase("{patient} bleeds."),
    "many": Phrase("{count} bleed."),
    "bad": Phrase("{patient} bleeds badly.", severities=(3,)),
    "broken": Phrase("{patient} broke a leg.", problems=("fracture",)),
    "young": Phrase("{count} of a school.", age_bands=("child",)),
}
MIXED = (
    replace(BLEED, shares={"adult": 1, "child": 1}),
    replace(FRACTURE, shares={"adult": 1, "child": 1}),
)


@pytest.mark.parametrize(
    ("said", "row", "is_certain"),
    [
        ("who", need("a", per=PATIENT, size="adult"), True),
        ("many", need("a", per=PATIENT, size="adult"), False),
        ("who", need("a", per=PATIENT, size="child"), False),
        ("young", need("a", per=PATIENT, size="child"), True),
        ("who", need("a", per=PATIENT, severities=(3,)), False),
        ("bad", need("a", per=PATIENT, severities=(3,)), True),
        ("who", need("a", per=PATIENT, problem="fracture"), False),
        ("broken", need("a", per=PATIENT, problem="fracture"), True),
        ("bad", need("a", USEFUL, per=PATIENT, severities=(3,)), False),
    ],
)
def test_what_the_caller_says_is_known(said: str, row: CallNeed, is_certain: bool) -> None:
    """The age where it tells who it is, and the problem and how bad where it can be of no other."""
    kind = call_type(row, profiles=MIXED)
    known = known_of(kind, WORLD, replace(call(), said=SAID[said]))
    assert ("a" in [each.need for each in known.certain]) is is_certain


def test_of_one_patient_told_nothing_of_another_age_may_be_wanted() -> None:
    """Of an adult alone the child's things are carried for nothing; of two they may be wanted."""
    kind = call_type(need("a", per=PATIENT, size="child"), profiles=MIXED)
    for patients, may_be in ((1, []), (2, ["a"])):
        told = replace(call(patients), said=SAID["who"])
        assert [each.need for each in known_of(kind, WORLD, told).possible] == may_be


@pytest.mark.parametrize(
    ("said", "band", "mask"),
    [
        ("who", "adult", "bag-valve-mask-adult"),
        ("who", "child", "bag-valve-mask-child"),
        ("young", "adult", "bag-valve-mask-child"),
        ("many", "child", "bag-valve-mask-adult"),
    ],
)
def test_a_mask_of_the_patients_size_comes_to_everybody(said: str, band: str, mask: str) -> None:
    """Common practice, no source: an adult's where the caller leaves the age open."""
    alone = call()
    told = replace(alone, patients=(replace(alone.patients[0], band=band),), said=SAID[said])
    known = known_of(call_type(profiles=MIXED), WORLD, told)
    assert [each.need for each in known.certain] == [mask]


def test_a_certification_is_named_beside_what_takes_one() -> None:
    """Who is below it hands the thing over."""
    kit = asked_of(call_type(need("airway", level="advanced-emt")))["kit"]
    assert kit.why == ("Red bag: Airway (advanced EMT).",)
    assert "handed over" in kit.rule


def test_gloves_are_for_everybody_and_what_is_needless_is_wrong() -> None:
    """A must of the call fails it when left off; what fits a hazard costs nothing."""
    kind = call_type(
        need("helmet", why="Things fall"),
        need("high-visibility-vest", NEEDLESS),
        hazards_here=("traffic",),
        hazards_possible=("dust",),
    )
    worn = group(asked_of(kind)["safety"], "wear")

    assert worn.right == ("gloves-exam", "helmet")
    assert worn.may == ("eye-protection",)
    assert [each.key for each in worn.choices] == [
        "gloves-exam",
        "eye-protection",
        "high-visibility-vest",
        "helmet",
    ]
    assert worn.decides
    assert asked_of(kind)["safety"].why[0] == "Helmet: Things fall."


def test_where_traffic_passes_a_vest_is_worn_and_left_off_it_fails() -> None:
    """Not only where the call type says so: a car stopped on the shoulder is enough. Where the
    traffic is only possible, it costs nothing either way."""
    here = asked_of(call_type(hazards_here=("traffic",)))["safety"]
    maybe = asked_of(call_type(hazards_here=("dog",), hazards_possible=("traffic",)))["safety"]
    gloves, vest = "wear:gloves-exam", "wear:high-visibility-vest"

    assert group(here, "wear").right == ("gloves-exam", "high-visibility-vest")
    assert outcome(here, gloves, vest, "look:traffic") == "right"
    assert outcome(here, gloves, "look:traffic") == "wrong"
    assert outcome(maybe, gloves, "look:dog") == outcome(maybe, gloves, vest, "look:dog") == "right"


def test_protection_that_is_not_aboard_keeps_the_crew_out() -> None:
    """It is no choice, and the debrief says what to do without it."""
    safe = asked_of(call_type(need("splash-coverall")))["safety"]

    assert "splash-coverall" not in {each.key for each in group(safe, "wear").choices}
    assert safe.why == ("Not aboard: Splash-coverall. Stay out, and ask for who has it.",)


def test_a_hazard_that_may_be_there_costs_nothing_and_a_missed_one_does_not_fail() -> None:
    """Only what is clearly of another scene takes marks."""
    kind = call_type(hazards_here=("machine",), hazards_possible=("dog",), hazards=("belts",))
    safe = asked_of(kind)["safety"]
    gloves, here = "wear:gloves-exam", "look:machine"

    assert outcome(safe, gloves, here, "look:dog") == "right"
    assert outcome(safe, gloves, here, "look:flood") == "partly"
    assert outcome(safe, gloves) == "partly"
    assert outcome(safe, here) == "wrong"
    assert "Of this kind of call: belts." in safe.why


def test_a_call_type_that_says_nothing_of_its_scene_is_asked_nothing_of_it() -> None:
    """As one that a service wrote before hazards were looked for."""
    found = asked_of(call_type(need("airway")))
    assert [each.key for each in found["safety"].groups] == ["wear"]
    assert [each.key for each in found["report"].groups] == ["says", "more"]


def report_of(
    kind: CallType, *severities: int, transports: bool = True, threshold: int = 3
) -> Choosing:
    """The first report of so many patients, each as bad as is said."""
    made = call(len(severities))
    people = zip(made.patients, severities, strict=True)
    made = replace(made, patients=tuple(replace(who, severity=bad) for who, bad in people))
    scene = scene_of(kind, made, transports=transports, threshold=threshold)
    return report(kind, scene, 5, seeded("x"))


def test_the_report_of_many_says_more_than_that_of_few() -> None:
    """Where, who is in charge and where others wait are wanted of three, and free of two."""
    says = [group(report_of(call_type(), *[2] * n), "says") for n in (2, 3)]
    assert {"charge", "wait"} <= set(says[0].may)
    assert {"place", "charge", "wait", "worst"} <= set(says[1].right)
    assert {"name", "label", "fault"} <= {c.key for c in says[0].choices} - {*says[0].right}
    why = report_of(call_type(), 2, 2).why
    assert "Not in it: the name and address of a patient (everybody listens)." in why
    assert why[-1] == "Such a report: One bleeding."


def test_the_report_carries_what_this_scene_asks() -> None:
    """Its hazards and its number in their own words, how to come in where that is hard, how bad
    the worst is, and whether anybody is needed."""
    road = group(report_of(call_type(hazards_here=("traffic",), asks_for=("police",)), 3), "says")
    home = group(report_of(call_type(hazards_here=("stairs",)), 1), "says")
    words = {each.key: each.words for each in road.choices}

    assert words["hazards"] == "Hazards: traffic past the scene"
    assert words["number"] == "That it is one patient"
    assert {"place", "wants", "worst-severe"} <= set(road.right)
    assert "worst-mild" in home.right
    assert "place" in home.may
    assert home.one_of == (("wants", "enough"),)
    assert set(road.right) != set(home.right)


def test_a_scene_with_a_hazard_is_never_reported_safe() -> None:
    """Nor are the hazards of another scene any of this one."""
    says = group(report_of(call_type(hazards_here=("traffic",)), 2), "says")
    wrong = {each.key for each in says.choices} - {*says.right, *says.may}
    assert {"safe", "other-hazards"} <= wrong
    none = group(report_of(call_type(), 2), "says")
    assert "safe" in none.may
    assert "hazards" not in {each.key for each in none.choices}


@pytest.mark.parametrize(
    ("severities", "with_a_cot", "without"),
    [
        ((1,), "0", "1"),
        ((3,), "0", "1"),
        ((1, 2), "0", "1"),
        ((2, 3), "1", "2"),
        ((3, 3), "1", "2"),
        ((3,) * 3, "1", "2"),
        ((1,) * 4, "1", "2"),
        ((1,) * 6, "2", "3"),
        ((1,) * 12, "5", "5"),
    ],
)
def test_one_number_of_ambulances_is_right(
    severities: tuple[int, ...], with_a_cot: str, without: str
) -> None:
    """One for two patients, of few one for each whose life is in danger; the own rig counts only
    where it takes a patient along. How many more is never what fails the report."""
    for transports, right in ((True, with_a_cot), (False, without)):
        more = group(report_of(call_type(), *severities, transports=transports), "more")
        assert more.right == (right,)
        assert not more.decides


def test_a_rig_without_a_cot_asks_for_one_that_has() -> None:
    """The same call on two layouts: the body without an inside takes nobody along."""
    room = Compartment("IN", "Cabinet inside", face="interior-curb")
    with_room = replace(RIG, compartments=(*RIG.compartments, room))
    kind = call_type(need("airway"))

    assert group(asked_of(kind)["report"], "more").right == ("1",)
    assert group(asked_of(kind, layout=with_room)["report"], "more").right == ("0",)


def test_what_the_caller_says_of_the_place_is_narrower_than_the_kind_of_call() -> None:
    """What it names must be looked for, and what else the kind brings may be there."""
    kind = call_type(hazards_here=("stings", "heat-cold", "blood"), hazards_possible=("dog",))
    made = replace(call(), dispatch="A woman, stung in bed.")
    scene = scene_of(kind, made, transports=True, threshold=3)

    assert scene.here == ("blood", "stings")
    assert scene.possible == ("dog", "heat-cold")
    plain = scene_of(kind, call(), transports=True, threshold=3)
    assert plain.here == kind.hazards_here


def test_a_crew_with_nothing_to_do_there_need_not_be_asked_for() -> None:
    """A fire crew where nothing burns is free; where something may, it must come."""
    kind = call_type(hazards_here=("fire",), asks_for=("fire",))
    soup = replace(call(), dispatch="Pulled a pan of soup down.")
    tank = replace(call(), dispatch="Flash fire at a welding tank.")

    scenes = [scene_of(kind, each, transports=True, threshold=3) for each in (soup, tank)]
    assert [each.asks_for for each in scenes] == [(), ("fire",)]
    assert "fire" in scenes[0].may_ask_for
    assert scenes[1].here == ("fire", "cylinder")


def test_whom_the_scene_must_have_decides() -> None:
    """A crew not asked for fails it; one too many takes marks."""
    kind = call_type(asks_for=("fire",), may_ask_for=("police",))
    asked = asked_of(kind)["report"]
    says = [f"says:{key}" for key in group(asked, "says").right]

    assert outcome(asked, *says, "more:1", "asks:fire") == "right"
    assert outcome(asked, *says, "more:1", "asks:fire", "asks:police") == "right"
    assert outcome(asked, *says, "more:1", "asks:fire", "asks:animal") == "partly"
    assert outcome(asked, *says, "more:1") == "wrong"
    assert outcome(asked, "asks:fire", "more:1") == "partly"


def test_which_crew_one_is_follows_the_number_of_patients() -> None:
    """From the number of the service on the first treats nobody, the second the worst two."""
    assert crew_of(call(2), 3, is_second=True, is_told=True) == Crew(ONLY, (2, 1), True)
    assert crew_of(call(4), 3, is_second=False, is_told=True) == Crew(FIRST, (), True)
    assert crew_of(call(4), 3, is_second=True, is_told=True) == Crew(SECOND, (2, 1), True)
    assert crew_of(call(4), 5, is_second=True, is_told=True).role == ONLY


def test_three_drills_of_ten_that_ask_of_arriving_are_of_the_second_crew() -> None:
    """Of 10,000 seeds within one in a hundred, two deviations; and the same for a seed."""
    arriving = RecipeSpec("met-twice", ((ARRIVE, 0), (TRIAGE, 0)))
    drawn = [is_second_crew(arriving, seed) for seed in range(10_000)]

    assert 0.29 < sum(drawn) / len(drawn) < 0.31
    assert drawn[:50] == [is_second_crew(arriving, seed) for seed in range(50)]


@pytest.mark.parametrize(
    ("kinds", "is_second"),
    [((DOSE,), True), ((DOSE, ARRIVE), True), ((STAGE,), False), ((TRIAGE, DOSE), False)],
)
def test_who_doses_and_sorts_nobody_is_the_second(
    kinds: tuple[str, ...], *, is_second: bool
) -> None:
    """Whatever the seed; and where neither that nor arriving is asked nobody is."""
    spec = RecipeSpec("plain", tuple((kind, 1) for kind in kinds))

    assert {is_second_crew(spec, seed) for seed in range(200)} == {is_second}


def test_the_dead_are_nobodys_to_treat() -> None:
    """The second crew is given those whose turn it is, whatever is most severe."""
    turns = {1: (1, True), 3: (3, True), 4: (1, False)}

    crew = crew_of(call(4), 3, is_second=True, is_told=True, turns=turns)

    assert crew == Crew(SECOND, (4, 1), True)
    alone = crew_of(call(4), 3, is_second=True, is_told=True, turns={3: (3, True)})
    assert alone == Crew(SECOND, (3,), True)


def test_the_call_says_who_is_there_before() -> None:
    """Only where it makes a difference, and only in a drill that asks of it."""
    of_four = call(4)
    second = told_to(of_four, crew_of(of_four, 3, is_second=True, is_told=True))
    assert second.dispatch == (
        "Somebody bleeds. Another crew is there and has sorted everybody. "
        "You are the second: patients 1 and 2 are yours."
    )
    first = told_to(of_four, crew_of(of_four, 3, is_second=False, is_told=True))
    assert first.dispatch == "Somebody bleeds. You are the first crew there."
    assert told_to(of_four, crew_of(of_four, 3, is_second=False, is_told=False)) is of_four
    assert told_to(call(1), crew_of(call(1), 3, is_second=True, is_told=True)) == call(1)


def test_the_first_crew_reports_and_the_second_reports_to_somebody() -> None:
    """They are asked other questions, and the only crew none of its part."""
    kind = call_type(need("airway"))
    first = asked_of(kind, patients=4, crew=Crew(FIRST, (), True))
    second = asked_of(kind, patients=4, crew=Crew(SECOND, (1,), True))

    assert list(asked_of(kind)) == ["kit", "safety", "report"]
    assert list(first) == ["kit", "safety", "report", "crew"]
    assert list(second) == ["safety", "crew", "kit"]
    assert first["kit"].told == ()
    assert second["kit"].told == ((1, "a woman", "Hurt"),)
    assert [each.key for each in first["crew"].groups] == ["does"]
    assert [each.key for each in second["crew"].groups] == ["to", "does"]


def test_the_second_crew_brings_what_its_own_patients_need() -> None:
    """Not what the call takes once, nor what another patient has to have."""
    kind = call_type(need("dressing"), need("monitor-defibrillator"))
    of_call = asked_of(kind, patients=4, crew=Crew(FIRST, (), True))["kit"]
    of_own = asked_of(kind, patients=4, crew=Crew(SECOND, (1,), True))["kit"]

    assert group(of_call, "kit").right == ("bag BLUE", "bag MON")
    assert group(of_own, "kit").right == ("bag RED",)
    assert "kit" not in asked_of(kind, patients=4, crew=Crew(SECOND, (2,), True))


def test_a_must_have_comes_with_what_it_is_of_no_use_without() -> None:
    """A mask with oxygen, and oxygen with its regulator; each need is there once."""
    mask = Asked("cpap-circuit", MUST, 1)
    oxygen = Asked("oxygen-cylinder-portable", USEFUL, 1)
    asked = kit_needs(Known((mask,), (oxygen, Asked("blanket", USEFUL, 1)), frozenset()))

    assert [(each.need, each.grade) for each in asked] == [
        ("cpap-circuit", MUST),
        ("oxygen-cylinder-portable", MUST),
        ("oxygen-regulator-portable", MUST),
        ("blanket", USEFUL),
    ]


def test_what_one_crew_must_do_the_other_must_not() -> None:
    """To sort from the start is the first thing of the one and the mistake of the other."""
    made = {role: duties(Crew(role, (1,)), 5, seeded("x")) for role in (FIRST, SECOND)}
    first, second = (made[role] for role in (FIRST, SECOND))
    assert first is not None
    assert second is not None
    does = [f"does:{key}" for key in group(second, "does").right]

    assert outcome(second, "to:in-charge", *does) == "right"
    assert outcome(second, "to:in-charge", *does, "does:sort") == "partly"
    assert outcome(second, "to:family", *does) == "wrong"
    assert outcome(first, *(f"does:{key}" for key in group(first, "does").right)) == "right"
    assert "sort" in group(first, "does").right
    assert "Sort everybody, from the first patient on" not in " ".join(first.why)
    assert "Sort everybody, from the first patient on: a second triage" in " ".join(second.why)
    assert duties(Crew(ONLY, (1,)), 5, seeded("x")) is None
    assert {each.key for each in group(first, "does").choices} <= {each.duty for each in DUTIES}


def test_covering_tells_no_set_that_a_narrower_one_covers() -> None:
    """What is enough for the narrow need is enough for the wide one."""
    alone, open_sets = covering([["a"], ["a", "b"], ["b", "c"], ["b", "c", "d"], [], ["c", "b"]])
    assert alone == {"a"}
    assert open_sets == (("b", "c"),)


def test_the_harder_the_more_is_offered_and_the_nearer_it_lies() -> None:
    """All that must be chosen is there at each level, in the order in which it came."""
    offers = [
        Offer("right", "Right", MUST, "near"),
        *(Offer(f"n{at}", "Near", WRONG, "near") for at in range(20)),
        *(Offer(f"f{at}", "Far", WRONG, "far") for at in range(20)),
        *(Offer(f"m{at}", "May", MAY, "far") for at in range(20)),
    ]
    shown = {level: offered(offers, level, seeded("x")) for level in range(1, 6)}

    sizes = [len(shown[level]) for level in shown]
    assert sizes == [1 + n + n // 2 for n in (4, 6, 8, 10, 14)]
    assert all(offers[0] in some for some in shown.values())
    assert all(some == [each for each in offers if each in some] for some in shown.values())
    near = [sum(each.words == "Near" for each in shown[level]) for level in (1, 5)]
    assert near == [0, 14]


def test_a_need_of_any_size_is_certain_and_of_one_size_where_all_are_of_it() -> None:
    """Adults alone are there, so that what fits adults is as certain as what fits everybody."""
    known = known_of(
        call_type(need("a", per=PATIENT, size="adult"), need("b", per=PATIENT, size=ANY_SIZE)),
        WORLD,
        call(),
    )
    assert {each.need for each in known.certain} == {"a", "b", *ALWAYS_THERE}
