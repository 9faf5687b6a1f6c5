"""What holds of every rule that is worked out, whatever its figures."""

from fractions import Fraction
from random import Random

from drills.engine.ages import Age
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.repeating import Course
from drills.engine.dosing.treatment import Worked, work_out
from drills.engine.quantities import Quantity, read_quantity
from tests.engine.treating import NOON, ONE_ML_VIAL, TEN_ML_SYRINGE, carrying, rule


def cases(count: int = 300) -> list[tuple[Worked, Course]]:
    """Worked rules of random figures, always the same."""
    random = Random(15)  # noqa: S311 - cases, no secrets
    found = []
    for _ in range(count):
        packed = random.choice([ONE_ML_VIAL, TEN_ML_SYRINGE, "10 mg / 2 mL", "8 mg / 20 mL"])
        given = rule(
            f"0.{random.randint(1, 40):02} mg/kg",
            packed=packed,
            maximum=random.choice(["", "4 mg", "0.5 mg"]),
            max_total=random.choice(
                [None, read_quantity("9 mg"), read_quantity("1 mg/kg"), read_quantity("3,000 mcg")]
            ),
            repeat_times=random.choice([None, 0, 1, 5]),
            repeat_min=random.choice([None, 1, 5, 240]),
        )
        patient = Patient(
            age=Age.of_years(random.randint(0, 90)),
            weight=Quantity(Fraction(random.randint(20, 2000), 10), random.choice(["kg", "lb"])),
        )
        supplies = carrying(packed, par=random.randint(0, 5))
        course = Course(doses_before=random.randint(0, 3), given_at=random.choice([None, NOON]))
        found.append((work_out(patient, given, supplies, course=course), course))
    return found


def test_what_is_opened_holds_the_volume_and_one_less_does_not() -> None:
    """For every dose that is drawn up."""
    drawn = [each for each, _ in cases() if each.volume and each.volume.rounded and each.opened]
    assert len(drawn) > 200

    for each in drawn:
        assert each.opened
        assert each.volume
        assert each.volume.rounded
        one, volume = each.opened.holds.to("mL").amount, each.volume.rounded.amount
        assert one * each.opened.needed >= volume
        assert one * (each.opened.needed - 1) < volume


def test_what_may_follow_is_never_past_the_maximum() -> None:
    """With this dose and all that may follow the total stays within; with one more it would not."""
    totals = 0
    for each, course in cases():
        again, dose = each.again, each.results["dose"].exact
        assert again.so_far == dose.times(course.doses_before + 1)
        times = each.rule.repeat_times
        by_count = None if times is None else times - course.doses_before
        if again.is_past or again.at_most is None or again.more is None:
            continue
        totals += 1
        most = again.at_most.to("mg").amount
        assert again.so_far.amount + again.more * dose.amount <= most
        if again.more != by_count:
            assert again.so_far.amount + (again.more + 1) * dose.amount > most
    assert totals > 50


def test_the_next_dose_is_due_the_interval_after_the_last() -> None:
    """Whenever one may follow, a time was told and the rule has an interval; else never."""
    due = 0
    for each, course in cases():
        may = each.again.more is None or (each.again.more > 0 and not each.again.is_past)
        if course.given_at and each.rule.repeat_min and may:
            due += 1
            assert each.again.next_due is not None
            wait = each.again.next_due - course.given_at
            assert wait.total_seconds() == each.rule.repeat_min * 60
        else:
            assert each.again.next_due is None
    assert due > 30
