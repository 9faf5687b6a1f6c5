"""What a row of each table is. A field is a column of the file by the same name.

Every row carries its source, its status and, where there is something to say, a note.
"""

from dataclasses import dataclass
from fractions import Fraction

CONFIRMED, FROM_MEMORY, OURS = "confirmed", "from memory", "ours"
STATUSES = (CONFIRMED, FROM_MEMORY, OURS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """Where a row is from: `confirmed` was read in the source that is named; `from memory` was not,
    or in one whose name was not kept; `ours` is our own decision."""

    source: str
    status: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Banded(Sourced):
    """A row for an age in whole months, from the first and below the second; none is no end."""

    from_months: int
    below_months: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder(Sourced):
    """A size of oxygen cylinder. Letters mean something only within their list.

    `litres_per_psi` is the factor; `litres` what a full one is printed to hold, none if unknown.
    """

    key: str
    list: str
    letter: str
    litres_per_psi: Fraction
    litres: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Residual(Sourced):
    """The gauge pressure in psi at which a cylinder counts as empty."""

    key: str
    psi: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastPressure(Sourced):
    """A regulation's least gauge pressure in psi of a cylinder, by its key, with what it is to
    last: so many minutes at so many litres a minute."""

    cylinder: str
    psi: int
    litres_per_min: Fraction
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DripSet(Sourced):
    """A giving set: how many of its drops make a millilitre, and whether it is macro or micro."""

    key: str
    gtt_per_ml: Fraction
    size: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightFormula(Banded):
    """One age window of a named formula: kg = `times` x age + `plus`, the age in whole `unit`."""

    formula: str
    unit: str
    times: Fraction
    plus: Fraction
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Systolic(Banded):
    """Below this systolic pressure is low: `mmhg` + `per_year` x whole years."""

    word: str
    mmhg: Fraction
    per_year: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class VitalSign(Banded):
    """From low to high is usual for a sign at an age, by one published set."""

    set: str
    sign: str
    called: str
    low: Fraction
    high: Fraction
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeByAge(Banded):
    """Inner width of a tube: `mm` + `per_year` x whole years."""

    cuff: str
    mm: Fraction
    per_year: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeByWeight(Sourced):
    """Inner width in mm of a tube for a weight, from the first kg and below the second."""

    cuff: str
    from_kg: Fraction
    below_kg: Fraction
    mm: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Energy(Sourced):
    """One step of a shock sequence in J/kg, anywhere from low to high, and the most J if stated."""

    use: str
    step: str
    low: Fraction
    high: Fraction
    most_j: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ComaStep(Sourced):
    """One answer of a coma scale: its points and its words.

    `also` are other words that are read for it, a semicolon between them; ours, no source.
    """

    scale: str
    part: str
    points: int
    words: str
    also: str

    @property
    def others(self) -> tuple[str, ...]:
        """The other words that are read for it, one by one."""
        return tuple(each.strip() for each in self.also.split(";") if each.strip())


@dataclass(frozen=True, slots=True, kw_only=True)
class ComaPatient(Sourced):
    """What is seen of one patient, in the words of a coma scale; whole, since the three go
    together: who obeys does not lie with closed eyes."""

    scale: str
    eyes: str
    voice: str
    movement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShockBand(Sourced):
    """What a set calls a shock index up to a limit, `included` or not; the last has no limit.

    The rows of a set rise, and each begins where the one before ends.
    """

    set: str
    up_to: Fraction | None
    included: bool
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnPart(Banded):
    """A part of the body by a chart at an age, in percent of its surface for each of its regions.

    `faces`: front and back count apart. `sides`: left and right do. `per_year` is added for each
    whole year over 1. `printed` is what the source prints where we use another figure.
    """

    chart: str
    part: str
    word: str
    percent: Fraction
    per_year: Fraction
    faces: bool
    sides: bool
    printed: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnFormula(Sourced):
    """Fluid in the first 24 hours after a burn, in mL for each kg and percent, low to high.

    A row with `below_months` and `under_kg` asks for both; the first row that fits is used.
    """

    set: str
    kind: str
    who: str
    below_months: int | None
    under_kg: Fraction | None
    low: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class StartRate(Banded):
    """Fluid for a burn before its area is known, in mL/h."""

    word: str
    ml_per_h: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class InjectionSite(Banded):
    """The most in mL that goes into one site of a muscle."""

    word: str
    ml: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Palm(Sourced):
    """The patient's own palm in percent of the body surface."""

    percent: Fraction
