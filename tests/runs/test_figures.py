"""What is told of a number, as it is read: at a glance, or line by line."""

from drills.runs.numbers import Figure, Line, figures_of, said_once, told_once

CHART = "Rule of nines, adult: head 9%, each arm 9%, front or back of the trunk 18%, perineum 1%"
FLUID = "Burn, heat: 2 mL/kg/% from 15 years, 3 mL/kg/% below 15 years, below 40 kg"


def test_a_long_rule_is_read_line_by_line_and_each_share_alone() -> None:
    """A comma within a part parts nothing, and no first letter is made another: mL is not ML."""
    figure = Figure(
        "Rule asked", f"{CHART}. {FLUID}; burn, electrical: 4 mL/kg/%. mL = half, first"
    )

    assert figure.is_long
    assert figure.lines == (
        Line(
            "Rule of nines, adult",
            ("head 9%", "each arm 9%", "front or back of the trunk 18%", "perineum 1%"),
        ),
        Line("Burn, heat", ("2 mL/kg/% from 15 years", "3 mL/kg/% below 15 years, below 40 kg")),
        Line("burn, electrical: 4 mL/kg/%"),
        Line("mL = half, first"),
    )


def test_where_a_rule_is_from_is_not_read_before_it_is_answered() -> None:
    rule = {"rule": "0.1 mg/kg", "source": "A document", "facts": [["Weight as told", "44 lb", ""]]}

    told = figures_of(rule)

    assert [each.words for each in told] == ["44 lb", "0.1 mg/kg"]
    assert not [each for each in told if "A document" in f"{each}"]


def test_what_many_problems_say_at_length_is_said_once_by_a_letter() -> None:
    """A short rule stays where it is asked, and so does what one problem alone says."""
    first = [Figure("Weight as told", "20 kg"), Figure("Rule asked", f"{CHART}. {FLUID}")]
    second = [Figure("Weight as told", "20 kg"), Figure("Rule asked", f"{FLUID}. {'Halved ' * 9}")]

    lines, figures = said_once([first, second])

    assert lines == {"A": FLUID}
    assert figures == [
        [first[0], Figure("Rule asked", f"{CHART}. A above")],
        [second[0], Figure("Rule asked", f"{'Halved ' * 9}. A above")],
    ]


def test_the_syringes_most_problems_tell_are_told_once_and_others_where_they_are_others() -> None:
    weight, usual, fine = (
        Figure("Weight as told", "20 kg"),
        Figure("Syringes aboard", "3 mL by 0.1 mL"),
        Figure("Syringes aboard", "1 mL by 0.01 mL"),
    )

    told = told_once([[weight, usual], [weight], [weight, fine], [usual]], "Syringes aboard")

    assert told == ("3 mL by 0.1 mL", [[weight], [weight], [weight, fine], []])
    assert told_once([[weight, usual], [weight, fine]], "Syringes aboard") == (
        "",
        [[weight, usual], [weight, fine]],
    )
