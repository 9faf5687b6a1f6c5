"""What a revision of the formulary changes, rule by rule."""

from drills.formulary.differences import differences
from drills.formulary.models import FormularyRevision
from drills.formulary.reports import rules_of
from tests.formulary.conftest import make_rule


def test_the_same_rules_differ_in_nothing(own: FormularyRevision) -> None:
    second = FormularyRevision.objects.create(number=2)
    make_rule(second)

    assert differences(rules_of(own), rules_of(second)).changes == ()


def test_every_value_of_a_rule_is_compared_in_words(own: FormularyRevision) -> None:
    """Among them the patients it is for, which no amount tells."""
    second = FormularyRevision.objects.create(number=2)
    make_rule(second, problems=[{"problem": "seizure"}], age_from_y=2, is_mixed=True, date=None)

    (change,) = differences(rules_of(own), rules_of(second)).changes

    told = {each.name: (each.before, each.after) for each in change.fields}
    assert told == {
        "problems": ("seizure, severity 2, 3", "seizure"),
        "age from y": ("nothing", "2.000"),
        "is mixed": ("no", "yes"),
        "date": ("2026-11-25", "nothing"),
    }
