"""What exercises are made from: the rules, what is aboard, and the call where there is one."""

from dataclasses import dataclass, field
from fractions import Fraction

from drills.engine import tables
from drills.engine.ages import Age
from drills.engine.calls import Call, Patient
from drills.engine.carried import Aboard, Carried
from drills.engine.concentrations import Presentation
from drills.engine.devices import SYRINGES
from drills.engine.dosing.fields import LB_EXACTLY, NEVER_UP
from drills.engine.dosing.patient import CHILD_BELOW_Y
from drills.engine.dosing.results import MEASURABLE_WITHIN
from drills.engine.dosing.treatment import USUAL, Settings
from drills.engine.medicines import MedicineRule, fits
from drills.engine.packing import Packing
from drills.engine.quantities import Quantity, kilograms, plain, read_quantity
from drills.engine.tables.kinds import Cylinder

NOTHING_ABOARD = Aboard((), {}, {})


@dataclass(frozen=True, slots=True, kw_only=True)
class Stores:
    """The approved rules, what one rig carries and how the service works; `call` and `patient`
    where there is a call."""

    rules: tuple[MedicineRule, ...] = ()
    aboard: Aboard = field(default=NOTHING_ABOARD)
    is_rule_shown: bool = True
    call: Call | None = None
    patient: Patient | None = None
    settings: Settings = USUAL

    @property
    def cylinders(self) -> tuple[Cylinder, ...]:
        """The sizes of cylinder aboard that the table knows, each once."""
        letters = dict.fromkeys(each.letter for each in self.aboard.cylinders())
        return tuple(row for letter in letters for row in _known(letter))

    def spares(self, letter: str) -> int:
        """How many cylinders of a size are aboard beside the one that is on."""
        there = sum(e.carried.count for e in self.aboard.cylinders() if e.letter == letter)
        return max(there - 1, 0)

    @property
    def drip_sets(self) -> tuple[Fraction, ...]:
        """The drops in a mL of the sets aboard, each once, the fewest first."""
        return tuple(dict.fromkeys(each.size for each in self.aboard.drip_sets()))

    @property
    def bags(self) -> tuple[Fraction, ...]:
        """The mL of the bags of fluid aboard, each once, the smallest first."""
        return tuple(dict.fromkeys(each.size for each in self.aboard.fluids()))

    @property
    def syringes(self) -> tuple[int, ...]:
        """The syringes aboard; every size that is known where none is tied."""
        there = {int(each.size) for each in self.aboard.syringes()}
        return tuple(size for size in SYRINGES if size in there) or tuple(SYRINGES)

    def pounds_of(self, weight: str) -> str:
        """How a problem says that a weight in pounds is taken exactly; empty where it is not."""
        return LB_EXACTLY if self.settings.is_exact_pounds and weight.endswith("lb") else ""

    def weighing(self, weight: str) -> dict[str, str]:
        """A weight as a problem has it, with how its pounds are taken."""
        pounds = self.pounds_of(weight)
        return {"weight": weight} | ({"pounds": pounds} if pounds else {})

    @property
    def measuring(self) -> dict[str, str]:
        """How a problem says that the service draws nothing up from less than a tenth off."""
        share = self.settings.refused_from
        return {} if share == MEASURABLE_WITHIN else {"refused_from": f"{plain(share * 100)} %"}

    def rounding_of(self, rule: MedicineRule | None, age: Age | None = None) -> str:
        """How a problem says that a child's dose is never rounded up; empty where it may be, as of
        an order that neither a rule nor the age of anybody gives."""
        is_meant = self.settings.is_never_up_for_children and self._is_of_a_child(rule, age)
        return NEVER_UP if is_meant else ""

    def _is_of_a_child(self, rule: MedicineRule | None, age: Age | None) -> bool:
        """By the age that is told, else that of the patient; without a call by the ages of the
        rule, which are of no child where they do not end with childhood: no age is told then."""
        if age is not None:
            return age.years < CHILD_BELOW_Y
        if rule is None:
            return False
        if self.patient is not None:
            return self.patient.age_y < CHILD_BELOW_Y
        below = rule.ages[1]
        return below is not None and below <= CHILD_BELOW_Y

    def rules_of(self, topic: str) -> tuple[MedicineRule, ...]:
        """The approved rules of a topic; of a call those alone that are for the patient."""
        there = tuple(rule for rule in self.rules if rule.topic == topic)
        one = self.patient
        if one is None:
            return there
        kg = kilograms(read_quantity(one.weight)).amount
        return tuple(r for r in there if fits(r, one.problem, one.severity, one.age_y, kg))

    def of(self, rule: MedicineRule) -> tuple[Carried, ...]:
        """What is aboard of what a rule is drawn from, in its own strength."""
        needs = dict.fromkeys((rule.need, *(each.need for each in rule.comes_as[:1])))
        return tuple(item for need in needs if need for item in self.aboard.of_need(need))

    def carries(self, rule: MedicineRule) -> bool:
        """Whether any of it is aboard."""
        return bool(self.of(rule))

    def count(self, rule: MedicineRule) -> int:
        """How many containers of it are aboard."""
        return sum(each.count for each in self.of(rule))

    def count_of(self, rule: MedicineRule, packed: Presentation) -> int:
        """How many containers of the medicine of a rule are aboard in the strength and the size of
        a presentation."""
        return sum(
            each.count
            for each in self.aboard.drawn_of(rule.medicine_key)
            if each.packing and _presentation(each.packing, packed.amount.unit) == packed
        )

    def in_other_strengths(self, rule: MedicineRule, own: Presentation) -> tuple[Presentation, ...]:
        """What is aboard of the medicine of a rule in another strength, each strength once."""
        found = {
            packed.strength: packed
            for each in self.aboard.drawn_of(rule.medicine_key)
            if each.packing and (packed := _presentation(each.packing, own.amount.unit))
            if packed.strength.kind == own.strength.kind
        }
        return tuple(
            packed for strength, packed in found.items() if strength.ratio_to(own.strength) != 1
        )


def _presentation(packing: Packing, unit: str) -> Presentation | None:
    """A packing as what is drawn up from it, in a unit where it is of that kind; None of what has
    no strength."""
    if packing.per_ml is None:
        return None
    volume = packing.volume_ml or Fraction(1)
    amount = Quantity(packing.per_ml * volume, packing.unit)
    is_alike = amount.kind == Quantity(Fraction(1), unit).kind
    return Presentation(
        _on_a_label(amount.to(unit) if is_alike else amount), Quantity(volume, "mL")
    )


def _on_a_label(amount: Quantity) -> Quantity:
    """An amount as a vial has it: a thousand micrograms and more as milligrams."""
    is_mg = amount.unit == "mcg" and amount.amount >= 1000
    return amount.to("mg") if is_mg else amount


def _known(letter: str) -> tuple[Cylinder, ...]:
    try:
        return (tables.cylinder(letter),)
    except tables.NotThereError:
        return ()
