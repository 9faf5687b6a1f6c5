"""The slips that are named: what was done instead, as figures, and how to say it.

The three classes (conceptual: the problem was set up wrongly; arithmetical: it was reckoned
wrongly; computational: units were turned into each other wrongly) are those of published studies
of ambulance crews' drug calculations, from memory; which slip belongs to which is ours.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from drills.engine.quantities import Quantity

CONCEPTUAL, ARITHMETICAL, COMPUTATIONAL = "conceptual", "arithmetical", "computational"


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip by its lasting key, its class, and what was done, in words that follow `Named slip:`
    and that stand alone in a table."""

    key: str
    error: str
    words: str


TENFOLD_OVER = Slip("tenfold-over", ARITHMETICAL, "ten times too much: a decimal point moved right")
TENFOLD_UNDER = Slip("tenfold-under", ARITHMETICAL, "a tenth of it: a decimal point moved left")
HUNDREDFOLD_OVER = Slip(
    "hundredfold-over", ARITHMETICAL, "a hundred times too much: two decimal places"
)
HUNDREDFOLD_UNDER = Slip("hundredfold-under", ARITHMETICAL, "a hundredth of it: two decimal places")
THOUSANDFOLD_OVER = Slip(
    "thousandfold-over",
    COMPUTATIONAL,
    "a thousand times too much: units a thousand apart, such as mg and mcg, taken for each other",
)
THOUSANDFOLD_UNDER = Slip(
    "thousandfold-under",
    COMPUTATIONAL,
    "a thousandth of it: units a thousand apart, such as mg and mcg, taken for each other",
)
POUNDS_AS_KG = Slip("pounds-as-kg", COMPUTATIONAL, "pounds used as kilograms")
POUNDS_TIMES = Slip(
    "pounds-multiplied", COMPUTATIONAL, "pounds multiplied by 2.2, where they are divided"
)
POUNDS_TWICE = Slip("pounds-divided-twice", COMPUTATIONAL, "pounds divided by 2.2 twice")
KG_AS_POUNDS = Slip(
    "kg-as-pounds", COMPUTATIONAL, "kilograms divided by 2.2 as if they were pounds"
)
KG_TO_POUNDS = Slip("kg-to-pounds", COMPUTATIONAL, "multiplied by 2.2 where kilograms were told")
MINUTE_FOR_HOUR = Slip(
    "minute-for-hour",
    COMPUTATIONAL,
    "a sixtieth of it: what runs in a minute for what runs in an hour",
)
HOUR_FOR_MINUTE = Slip(
    "hour-for-minute", COMPUTATIONAL, "sixty times: what runs in an hour for what runs in a minute"
)
SECONDS_AS_MINUTES = Slip(
    "seconds-as-minutes", COMPUTATIONAL, "sixty times: seconds told as minutes"
)
HOURS_AS_MINUTES = Slip(
    "hours-as-minutes", COMPUTATIONAL, "a sixtieth of it: hours told as minutes"
)
DOSE_AS_VOLUME = Slip(
    "dose-as-volume", CONCEPTUAL, "the number of the dose, taken for that of the volume"
)
AMOUNT_GIVEN = Slip(
    "amount-given", CONCEPTUAL, "the dose itself, not the volume or the tablets that hold it"
)
STRENGTH_MULTIPLIED = Slip(
    "strength-multiplied", CONCEPTUAL, "multiplied by the strength, where the dose is divided by it"
)
STRENGTH_DIVIDED = Slip(
    "strength-divided", CONCEPTUAL, "divided by the strength, where the volume is multiplied by it"
)
OTHER_PRESENTATION = Slip(
    "other-presentation", CONCEPTUAL, "worked out with another presentation that is aboard"
)
NO_MAXIMUM = Slip("no-maximum", CONCEPTUAL, "the maximum was forgotten")
NO_MINIMUM = Slip("no-minimum", CONCEPTUAL, "the minimum was forgotten")
NO_WEIGHT = Slip("no-weight", CONCEPTUAL, "the weight was forgotten: the dose for one kilogram")
EACH_FOR_TOTAL = Slip("each-for-total", CONCEPTUAL, "one dose, where all of them were asked for")
TOTAL_FOR_EACH = Slip("total-for-each", CONCEPTUAL, "all doses together, where one was asked for")
NO_RESIDUAL = Slip(
    "no-residual",
    CONCEPTUAL,
    "the residual pressure was forgotten: that much stays in the cylinder",
)
OTHER_CYLINDER = Slip(
    "other-cylinder", CONCEPTUAL, "worked out with the factor of another cylinder"
)
ONE_PATIENT = Slip(
    "one-patient", CONCEPTUAL, "the flow of one patient, where all on the cylinder count"
)
OTHER_SET = Slip("other-set", CONCEPTUAL, "worked out with the drops of another drip set")
DROPS_AS_ML = Slip(
    "drops-as-ml",
    CONCEPTUAL,
    "drops and millilitres taken for each other: the drip set was left out",
)
HOURLY_AS_DROPS = Slip(
    "hourly-as-drops",
    CONCEPTUAL,
    "the mL in an hour, taken for the drops in a minute: the drip set was left out",
)
BURN_DOUBLED = Slip(
    "burn-doubled",
    CONCEPTUAL,
    "twice as much: the fluid was doubled, or not halved where half is due",
)
BURN_HALVED = Slip("burn-halved", CONCEPTUAL, "half as much: the fluid was halved once too often")
FROM_ARRIVAL = Slip(
    "from-arrival", CONCEPTUAL, "counted from arrival: the eight hours begin at the injury"
)
WHOLE_FROM_ARRIVAL = Slip(
    "whole-from-arrival",
    CONCEPTUAL,
    "the whole of the fluid over eight hours from arrival: half of it is due, by eight hours from "
    "the injury",
)
DILUENT_FOR_TOTAL = Slip(
    "diluent-for-total", CONCEPTUAL, "divided by the diluent alone, not by all that is there then"
)

# With these a limit may be met that the right dose does not meet.
OF_WEIGHT = frozenset(
    {POUNDS_AS_KG, POUNDS_TIMES, POUNDS_TWICE, KG_AS_POUNDS, KG_TO_POUNDS, NO_WEIGHT}
)

# What any figure may have been multiplied with.
DECIMALS: tuple[tuple[Slip, Fraction], ...] = (
    (TENFOLD_OVER, Fraction(10)),
    (TENFOLD_UNDER, Fraction(1, 10)),
    (HUNDREDFOLD_OVER, Fraction(100)),
    (HUNDREDFOLD_UNDER, Fraction(1, 100)),
    (THOUSANDFOLD_OVER, Fraction(1000)),
    (THOUSANDFOLD_UNDER, Fraction(1, 1000)),
)
ALL_SLIPS = tuple(each for each in list(globals().values()) if isinstance(each, Slip))


@dataclass(frozen=True, slots=True)
class Made:
    """What a slip would have given, in the unit of what was asked, and what the device would then
    have been set to."""

    slip: Slip
    value: Quantity
    set_to: tuple[Quantity, ...] = ()

    def to(self, unit: str) -> "Made":
        """The same in another unit of its kind."""
        return Made(self.slip, self.value.to(unit), tuple(each.to(unit) for each in self.set_to))


def sixtyfold(values: Iterable[Quantity]) -> Iterator[Made]:
    """The slips between what runs in a minute and in an hour, either way."""
    for value in values:
        yield Made(MINUTE_FOR_HOUR, value.times(Fraction(1, 60)))
        yield Made(HOUR_FOR_MINUTE, value.times(60))


def sixtyfold_time(values: Iterable[Quantity]) -> Iterator[Made]:
    """The slips between seconds, minutes and hours, of how long something lasts in minutes."""
    for value in values:
        yield Made(HOURS_AS_MINUTES, value.times(Fraction(1, 60)))
        yield Made(SECONDS_AS_MINUTES, value.times(60))


def without_the_set(
    values: Iterable[Quantity], drip_set: Quantity, *, is_drops: bool
) -> Iterator[Made]:
    """The slips with the drip set left out: of the drops in a minute, or of the mL."""
    drops_of_a_ml = drip_set.amount
    for value in values:
        yield Made(DROPS_AS_ML, value.times(1 / drops_of_a_ml if is_drops else drops_of_a_ml))
        if is_drops:
            yield Made(HOURLY_AS_DROPS, value.times(60 / drops_of_a_ml))


def by_strength_otherwise(
    values: Iterable[Quantity], strength: Fraction, *, is_volume: bool
) -> Iterator[Made]:
    """Multiplied by the strength where that divides, as of a volume, and the other way round of an
    amount; nothing of a strength of which a moved point gives the same."""
    squared = strength * strength
    slip, factor = (STRENGTH_MULTIPLIED, squared) if is_volume else (STRENGTH_DIVIDED, 1 / squared)
    if factor not in (1, *dict(DECIMALS).values()):
        for value in values:
            yield Made(slip, value.times(factor))
