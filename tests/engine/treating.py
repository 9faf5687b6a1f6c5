"""Rules, patients and what is aboard, as the tests of treatment make them."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from drills.engine.ages import Age
from drills.engine.carried import Aboard, Carried, NeedSaid
from drills.engine.dosing import read_dose_rule
from drills.engine.dosing.opening import Stocked, Supplies
from drills.engine.dosing.patient import Patient
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import DOSE, MedicineRule
from drills.engine.mixtures import Container
from drills.engine.quantities import read_quantity

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
CHILD = Patient(age=Age.of_years(5), weight=read_quantity("20 kg"))
GROWN = Patient(age=Age.of_years(40), weight=read_quantity("80 kg"))
ONE_ML_VIAL = "1 mg / 1 mL"
TEN_ML_SYRINGE = "1 mg / 10 mL"
SYRINGES = (1, 3, 10, 20, 60)


def holding(packed: str, *, par: int = 9, name: str = "") -> Stocked:
    """A container aboard; what it holds is written `10 mg / 2 mL`, a fluid `1,000 mL`."""
    amount, _, volume = packed.rpartition(" / ")
    held = read_quantity(amount) if amount else None
    return Stocked(
        name=name or packed, container=Container("", packed, held, read_quantity(volume)), par=par
    )


def rule(dose: str, *, packed: str = ONE_ML_VIAL, topic: str = DOSE, **given: Any) -> MedicineRule:
    """A rule for everybody; what is named differs."""
    limits = {name: given.pop(name, "") for name in ("high", "minimum", "maximum")}
    container = holding(packed).container
    made = MedicineRule(
        code="T1",
        medicine="Training medicine",
        indication="",
        route="IV",
        level="paramedic",
        need="",
        problems=(),
        ages=(None, None),
        weights=(None, None),
        rule=read_dose_rule(dose, **limits),
        presentation=container.presentation,
        printed=dose,
        source="",
        version="",
        status="",
        notice="",
        topic=topic,
        comes_as=(container,),
    )
    return replace(made, **given)


def aboard(medicine: MedicineRule, *sizes: int, **given: Any) -> Stores:
    """What exercises are made from where a medicine is carried, and syringes of such sizes."""
    said = NeedSaid(medicine.need, medicine.medicine, "", medicine.medicine_key)
    needs = [said, *(NeedSaid(f"syringe-{size}", "Syringe", f"{size} mL") for size in sizes)]
    items = tuple(
        Carried(
            item=need.key,
            name=need.name,
            need=need.key,
            medicine=need.medicine,
            packing=None,
            count=9,
            places=(),
            is_confirmed=True,
            serves_doses=bool(need.medicine),
            is_locked=False,
        )
        for need in needs
    )
    there = Aboard(items, {each.key: each for each in needs}, {each.key: () for each in needs})
    return Stores(rules=(medicine,), aboard=there, **given)


def carrying(*packed: str, par: int = 9, sets: tuple[str, ...] = ()) -> Supplies:
    return Supplies(
        containers=tuple(holding(each, par=par) for each in packed),
        syringes=SYRINGES,
        drip_sets=tuple(map(read_quantity, sets)),
    )
