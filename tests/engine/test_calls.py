"""Calls made from small data: what is asked for, and that patients keep to it."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.calls import (
    CALL,
    MUST,
    NEEDLESS,
    PATIENT,
    USEFUL,
    AgeBand,
    Asked,
    Call,
    CallError,
    CallNeed,
    CallType,
    CallWorld,
    Patient,
    Phrase,
    Problem,
    Profile,
    State,
    Vitals,
    needs_for,
    needs_of,
)
from drills.engine.chance import seeded
from drills.engine.dispatch import call_with, draw_age, make_call, ranges_of, who_is
from tests.engine.fixture_world import call_types, world

WORLD = CallWorld(
    bands={
        "infant": AgeBand("infant", 1 / 12, 1, "infant"),
        "school": AgeBand("school", 6, 11, "child"),
        "adult": AgeBand("adult", 18, 65, "adult"),
    },
    problems={
        "bleed": Problem(
            "bleed",
            "Bleeding limb wound",
            (
                State(2, "Dark blood through the cloth", ("school", "adult"), {"spo2": (95, 98)}),
                State(3, "Spurting wound", ("adult",), {"spo2": (90, 94)}),
            ),
            (Vitals(3, "adult", {"hr": (120, 140)}), Vitals(2, "adult", {"hr": (90, 100)})),
        ),
        "cold": Problem("cold", "Hypothermia", (State(1, "Shivers", ("infant",), {}),), ()),
    },
    places=("Tea Chest",),
    roads=(("Borax Road", "county"), ("Main Street", "street")),
)
BLEED = Profile("bleed", {"school": 1, "adult": 3}, (None, None), 0.5, False, 2, (2, 3))
COLD = Profile("cold", {"infant": 1}, (0.25, 0.5), 1.0, True, 0, (1,))
CRASH = CallType(
    slug="crash",
    name="Crash",
    least=2,
    most=4,
    road_kinds=("county",),
    phrases=(Phrase("{count} hurt, {road} near {place}. {patient} is cold."),),
    profiles=(BLEED, COLD),
    needs=(
        CallNeed("tourniquet", MUST, 1, PATIENT, problem="bleed", why="It stops the leg"),
        CallNeed("tourniquet", USEFUL, 9, CALL),
        CallNeed("tags", MUST, 1, CALL),
        CallNeed("mask-adult", MUST, 1, PATIENT, size="adult", instead=("mask-any",)),
        CallNeed("mask-child", MUST, 1, PATIENT, size="child", wrong_grab=("mask-adult",)),
        CallNeed("blanket", USEFUL, 2, PATIENT),
        CallNeed("blanket", USEFUL, 3, CALL),
        CallNeed("saw", NEEDLESS, 1, CALL),
    ),
)
seeds = st.integers(0, 10_000)


def call(seed: int) -> Call:
    return make_call(CRASH, WORLD, seeded(f"t:{seed}"))


def patient(number: int, problem: str, size: str) -> Patient:
    return Patient(number, problem, 2, "adult", size, 30, False, "70 kg", "30-year-old man", "", ())


def asked(*patients: Patient) -> dict[str, Asked]:
    return {each.need: each for each in needs_of(CRASH, patients)}


def test_the_stronger_grade_wins_and_its_rows_alone_count() -> None:
    found = asked(patient(1, "bleed", "adult"), patient(2, "bleed", "child"))

    assert (found["tourniquet"].grade, found["tourniquet"].quantity) == (MUST, 2)
    assert found["tourniquet"].patients == (1, 2)
    assert found["tourniquet"].why == "It stops the leg"


def test_a_size_is_asked_only_where_it_is() -> None:
    found = asked(patient(1, "cold", "adult"))

    assert found["mask-adult"].instead == ("mask-any",)
    assert "mask-child" not in found
    assert found["tourniquet"].grade == USEFUL


@pytest.mark.parametrize(("people", "blankets"), [(1, 3), (2, 4), (3, 6)])
def test_of_a_count_for_each_and_one_for_all_the_larger_stands(people: int, blankets: int) -> None:
    found = asked(*(patient(number, "cold", "adult") for number in range(1, people + 1)))

    assert found["blanket"].quantity == blankets


def test_what_one_patient_asks_for_is_theirs_alone() -> None:
    found = needs_of(CRASH, [patient(1, "bleed", "adult"), patient(2, "bleed", "child")])

    second = {each.need: each.quantity for each in needs_for(found, 2)}

    assert second == {"tourniquet": 1, "mask-child": 1, "blanket": 2}


def test_what_one_problem_takes_is_not_divided_among_those_who_have_it() -> None:
    """Two bags mix one kit: of two who need it, either alone takes both bags."""
    bags = CallNeed("bag", MUST, 2, CALL, problem="bleed", why="Two bags mix the kit")
    burning = replace(CRASH, needs=(bags,))
    found = needs_of(burning, [patient(1, "bleed", "adult"), patient(2, "bleed", "adult")])

    assert [each.quantity for each in found] == [2]
    assert [each.quantity for each in needs_for(found, 2)] == [2]


@given(seeds)
def test_what_is_said_of_all_is_true_of_each(seed: int) -> None:
    """A phrase that names nobody and fits grown-ups alone is never said of a child."""
    grown = Phrase("{count} workers, {road}.", age_bands=("adult",))
    here = replace(CRASH, phrases=(grown, Phrase("{count} hurt, {road}.")))
    made = make_call(here, WORLD, seeded(f"w:{seed}"))

    if "workers" in made.dispatch:
        assert {each.band for each in made.patients} == {"adult"}


BLEEDING = replace(
    CRASH,
    profiles=(BLEED,),
    phrases=(
        Phrase("{patient}, slow.", severities=(2,)),
        Phrase("Two hurt."),
        Phrase("{count} in all."),
    ),
)


@given(seeds)
def test_what_is_said_of_a_severity_is_said_of_no_other(seed: int) -> None:
    """The first patient is as bad as the phrase says, and two are two."""
    made = make_call(BLEEDING, WORLD, seeded(f"s:{seed}"))

    if "slow" in made.dispatch:
        assert made.patients[0].severity == 2
    if made.dispatch.startswith("Two hurt"):
        assert len(made.patients) == 2


def test_every_phrase_that_fits_is_said_sometime() -> None:
    """Those of a severity and of two among them."""
    made = [make_call(BLEEDING, WORLD, seeded(f"m:{n}")) for n in range(80)]
    assert {each.patients[0].severity for each in made} == {2, 3}
    said = {word for each in made for word in ("slow", "Two", "in all.") if word in each.dispatch}
    assert said == {"slow", "Two", "in all."}


def test_musts_come_first() -> None:
    grades = [each.grade for each in needs_of(CRASH, [patient(1, "bleed", "adult")])]

    assert grades == sorted(grades, key=[MUST, USEFUL, NEEDLESS].index)


@given(seeds)
def test_the_same_seed_gives_the_same_call(seed: int) -> None:
    assert call(seed) == call(seed)


@given(seeds)
def test_patients_keep_to_the_data(seed: int) -> None:
    made = call(seed)

    assert CRASH.least <= len(made.patients) <= CRASH.most
    assert made.patients[0].problem == "cold"
    for each in made.patients:
        band, problem = WORLD.bands[each.band], WORLD.problems[each.problem]
        states = {state.severity: state for state in problem.states}
        assert band.from_y <= each.age_y < band.to_y
        assert each.band in states[each.severity].age_bands
        assert each.findings == states[each.severity].findings
        assert problem.name not in each.findings
    cold = made.patients[0]
    assert 0.25 - 1 / 12 < cold.age_y <= 0.5
    assert cold.is_female


@given(seeds)
def test_signs_lie_inside_their_ranges(seed: int) -> None:
    pulse = {3: (120, 140), 2: (90, 100)}
    for each in call(seed).patients:
        signs = dict(each.signs)
        if each.band == "adult":
            low, high = pulse[each.severity]
            figure, unit = signs["Pulse"].split(maxsplit=1)
            assert low <= int(figure) <= high
            assert unit == "a minute"
            assert signs["Saturation"].endswith(" %")


def test_below_two_years_an_age_is_in_months_and_from_then_on_in_years() -> None:
    """A weight moves by a fifth from the first birthday to the second."""
    band = world().bands["toddler"]
    ages = [draw_age(band, (1, 3), seeded(f"age {seed}")) for seed in range(200)]

    young = {round(age * 12, 6) for age in ages if age < 2}
    assert {13.0, 17.0, 23.0} <= young
    assert all(months == int(months) for months in young)
    assert {age for age in ages if age >= 2} == {2.0}


def test_the_signs_of_an_age_stand_before_those_of_the_state() -> None:
    """Other ages, other severities and what an age does not name keep those of the state."""
    croup = world().problems["croup"]
    state = replace(croup.states[0], severity=2, ranges={"hr": (60, 100), "spo2": (90, 94)})
    at_age = replace(croup.vitals[0], severity=2, age_band="infant", ranges={"hr": (140, 160)})
    milder = replace(at_age, severity=1, ranges={"hr": (120, 130)})
    problem = replace(croup, states=(state,), vitals=(milder, at_age))

    assert ranges_of(problem, state, "infant") == {"hr": (140, 160), "spo2": (90, 94)}
    assert ranges_of(problem, state, "toddler") == {"hr": (60, 100), "spo2": (90, 94)}


@given(seeds)
def test_the_dispatch_leaves_no_hole_and_begins_with_capitals(seed: int) -> None:
    text = call(seed).dispatch

    assert "{" not in text
    assert "Borax Road near Tea Chest." in text
    assert not any(part[0].islower() for part in text.split(". "))


@pytest.mark.parametrize(
    ("age", "is_female", "words"),
    [
        (0.0, True, "newborn girl"),
        (7 / 12, False, "7-month-old boy"),
        (1.5, False, "18-month-old boy"),
        (2.0, True, "2-year-old girl"),
        (17.0, False, "17-year-old boy"),
        (18.0, True, "18-year-old woman"),
        (84.0, False, "84-year-old man"),
    ],
)
def test_says_who_a_patient_is(age: float, is_female: bool, words: str) -> None:
    assert who_is(age, is_female=is_female) == words


ONE_SPOKEN_OF = replace(CRASH, phrases=(Phrase("{patient} at {place}, cold."),))


@given(seeds)
def test_a_call_says_how_many_there_are(seed: int) -> None:
    """A phrase that speaks of one patient is followed by the count, unless one is all."""
    made = make_call(ONE_SPOKEN_OF, WORLD, seeded(f"t:{seed}"))

    number = {2: "Two", 3: "Three", 4: "Four"}[len(made.patients)]
    assert made.dispatch.endswith(f"cold. {number} patients in all.")
    alone = replace(ONE_SPOKEN_OF, least=1, most=1, profiles=(COLD,))
    assert make_call(alone, WORLD, seeded(f"t:{seed}")).dispatch.endswith("cold.")


def test_a_need_of_severities_is_not_asked_for_by_the_others() -> None:
    """For the whole call too: oxygen for a bad burn is not brought to a mild one."""
    oxygen = CallNeed("oxygen", "must", 1, "call", severities=(3,))
    one = replace(CRASH, least=1, most=1, profiles=(BLEED,), needs=(oxygen,))
    made = [make_call(one, WORLD, seeded(f"{seed}")) for seed in range(30)]
    by_severity = {each.patients[0].severity: {asked.need for asked in each.needs} for each in made}
    assert {severity: bool(needs) for severity, needs in by_severity.items()} == {
        severity: severity == 3 for severity in by_severity
    }
    assert len(by_severity) > 1


def test_no_problem_comes_twice_while_another_is_left() -> None:
    """Though neither is always there; of a third patient one comes twice."""
    either = replace(CRASH, profiles=(BLEED, replace(COLD, is_always=False, weight=1)))
    for seed in range(40):
        of_two, of_three = (
            make_call(either, WORLD, seeded(f"{seed}"), least=count, most=count).patients
            for count in (2, 3)
        )
        assert {each.problem for each in of_two} == {"bleed", "cold"}
        assert {each.problem for each in of_three} == {"bleed", "cold"}


def test_no_two_of_a_call_have_the_same_findings_while_there_are_others() -> None:
    """Two drenched in the same spray are not the same two words: of two, one is worse."""
    for slug in ("pesticide", "opioid-overdose"):
        kind = call_types()[slug]
        for seed in range(60):
            call = make_call(kind, world(), seeded(f"alike:{seed}"), least=2, most=2)
            assert len({each.findings for each in call.patients}) == 2, call.patients


def test_who_is_always_there_is_not_counted_aloud() -> None:
    """A mother and her baby are two and nobody says so; with a third all are counted."""
    both = replace(ONE_SPOKEN_OF, profiles=(COLD, replace(BLEED, is_always=True)))
    two, three = (
        make_call(both, WORLD, seeded("t"), least=count, most=count).dispatch for count in (2, 3)
    )

    assert two.endswith("cold.")
    assert three.endswith("cold. Three patients in all.")


@pytest.mark.parametrize("is_narrower_first", [True, False])
def test_of_two_rows_for_one_patient_the_larger_stands(*, is_narrower_first: bool) -> None:
    """Three for everybody and one for who bleeds are three, whichever is told first."""
    rows = [
        CallNeed("gauze", MUST, 1, PATIENT, problem="bleed"),
        CallNeed("gauze", MUST, 3, PATIENT),
    ]
    kind = replace(CRASH, needs=tuple(rows if is_narrower_first else reversed(rows)))

    (found,) = needs_of(kind, [patient(1, "bleed", "adult"), patient(2, "cold", "adult")])

    assert (found.quantity, found.for_one, found.patients) == (6, 3, (1, 2))


def test_a_burn_is_one_or_two_hours_old_and_nobody_else_s_is() -> None:
    """Of 60 calls both come; a call without a burn has no hours."""
    burned = replace(patient(1, "bleed", "adult"), burned=("arm",))
    kind = replace(CRASH, phrases=(Phrase("{count} hurt."),))

    hours = {call_with(kind, WORLD, (burned,), seeded(f"{n}")).burned_h for n in range(60)}

    assert hours == {1, 2}
    assert call_with(kind, WORLD, (patient(1, "bleed", "adult"),), seeded("x")).burned_h == 0


def test_narrows_how_many_patients_there_are() -> None:
    counts = {
        len(make_call(CRASH, WORLD, seeded(f"{seed}"), least=1, most=2).patients)
        for seed in range(50)
    }

    assert counts == {2}


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"profiles": ()}, "has no patients to draw"),
        ({"phrases": ()}, "no phrase fits"),
        ({"profiles": (replace(COLD, severities=(3,)),)}, "no findings"),
    ],
)
def test_data_that_makes_no_call_is_named(changed: dict[str, object], message: str) -> None:
    with pytest.raises(CallError, match=message):
        make_call(replace(CRASH, **changed), WORLD, seeded("x"))  # type: ignore[arg-type]  # fields, by name
