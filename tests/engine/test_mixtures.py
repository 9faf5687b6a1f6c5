"""How a medicine is mixed, from the figures that are printed."""

import pytest

from drills.engine.concentrations import told_strength
from drills.engine.mixtures import Container, read_mixture
from drills.engine.quantities import QuantityError, read_quantity

SYRINGE = Container("", "1 mg / 10 mL syringe", read_quantity("1 mg"), read_quantity("10 mL"))
VIAL = Container("", "4 mg / 4 mL vial", read_quantity("4 mg"), read_quantity("4 mL"))
POWDER = Container("", "1 mg kit", read_quantity("1 mg"))
FLUID = Container("", "1,000 mL bag", None, read_quantity("1000 mL"))


@pytest.mark.parametrize(
    ("of", "given", "how", "line"),
    [
        (
            SYRINGE,
            {"take": "1 mL", "added": "9 mL", "diluent": "normal saline", "strength": "10 mcg/mL"},
            "1 mL of 0.1 mg/mL + 9 mL normal saline",
            "100 mcg / 10 mL = 10 mcg/mL",
        ),
        (
            VIAL,
            {"take": "4 mg", "added": "250 mL", "strength": "16 mcg/mL"},
            "4 mg (4 mL of 1 mg/mL) in 250 mL",
            "4,000 mcg / 250 mL = 16 mcg/mL",
        ),
        (POWDER, {"added": "1 mL"}, "1 mg powder + 1 mL", "1 mg / 1 mL = 1 mg/mL"),
        (
            VIAL,
            {"strength": "0.1 mg/mL"},
            "1 mL of 1 mg/mL, filled up to 10 mL",
            "1 mg / 10 mL = 0.1 mg/mL",
        ),
        (
            POWDER,
            {"strength": "0.5 mg/mL", "diluent": "water"},
            "1 mg powder, filled up to 2 mL with water",
            "1 mg / 2 mL = 0.5 mg/mL",
        ),
    ],
)
def test_a_mixture_is_what_its_figures_say(
    of: Container, given: dict[str, str], how: str, line: str
) -> None:
    """A volume and a powder have the diluent put to them; an amount is in what is said."""
    mixture = read_mixture(of, **given)

    assert mixture.steps == (f"Mix {how}", line)
    assert line.endswith(told_strength(mixture.presentation.strength))


@pytest.mark.parametrize(
    ("of", "given", "reason"),
    [
        (VIAL, {}, "no figures say how it is mixed"),
        (VIAL, {"take": "1 mL", "added": "9 mL", "strength": "1 mg/mL"}, "0.1 .* and not 1 mg/mL"),
        (POWDER, {"take": "1 mL", "added": "9 mL"}, "1 mL of what has no volume"),
        (FLUID, {"added": "9 mL"}, "nothing of it is taken"),
        (VIAL, {"take": "4 units", "added": "250 mL"}, "units"),
    ],
)
def test_figures_that_do_not_agree_are_refused(
    of: Container, given: dict[str, str], reason: str
) -> None:
    """Nothing is mixed by figures of which one is wrong."""
    with pytest.raises(QuantityError, match=reason):
        read_mixture(of, **given)
