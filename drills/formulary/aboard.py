"""What of a rule a rig or a layout carries, in the terms that a rule is worked out in."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from drills.engine.carried import Aboard, Carried
from drills.engine.devices import SYRINGES
from drills.engine.dosing.opening import Stocked, Supplies
from drills.engine.medicines import MedicineRule
from drills.engine.mixtures import Container
from drills.engine.quantities import Quantity
from drills.formulary.finding import Grouped
from drills.people.models import Person
from drills.rigs.carried import carried_by, carried_on
from drills.rigs.models import Layout, Revision, RevisionState, Rig
from drills.rigs.reports import todays_rig

RIG, LAYOUT = "rig:", "layout:"
NOT_SAID = Container("", "")


@dataclass(frozen=True, slots=True)
class Place:
    """A rig, or a layout as it is published: how it is asked for, and its name."""

    key: str
    name: str
    of: Rig | Revision

    @property
    def aboard(self) -> Aboard:
        """What it carries that is taken for anything."""
        return carried_on(self.of) if isinstance(self.of, Rig) else carried_by(self.of)


def places_for(person: Person) -> list[Place]:
    """Every rig and every published layout, the person's rig of today first."""
    rigs = list(Rig.objects.select_related("revision__layout"))
    today = todays_rig(person)
    rigs.sort(key=lambda each: today is None or each.pk != today.pk)
    revisions = Revision.objects.filter(state=RevisionState.PUBLISHED).select_related("layout")
    return [
        *(Place(f"{RIG}{each.unit}", f"{each}, {each.revision}", each) for each in rigs),
        *(Place(f"{LAYOUT}{each.layout.slug}", f"{each}", each) for each in _newest(revisions)),
    ]


def _newest(revisions: Iterable[Revision]) -> list[Revision]:
    newest: dict[Layout, Revision] = {}
    for each in sorted(revisions, key=lambda each: each.number):
        newest[each.layout] = each
    return sorted(newest.values(), key=lambda each: each.layout.slug)


def aboard_alone(medicines: Iterable[Grouped], rig: Rig) -> list[Grouped]:
    """Those of which a rig carries something that a dose is drawn from or given by."""
    aboard = carried_on(rig)
    return [each for each in medicines if aboard.of_medicine(each.medicine.key)]


def supplies_of(rule: MedicineRule, aboard: Aboard) -> Supplies:
    """What is aboard for a rule: what it names, what else there is of the medicine, and what it is
    given with. A presentation that is tied to nothing is not looked for."""
    named = list(_named(rule, aboard))
    names = {each.name for each in named}
    there = aboard.drawn_of if rule.is_drawn_up else aboard.of_medicine
    others = (_stocked(each, NOT_SAID) for each in there(rule.medicine_key))
    sets = dict.fromkeys(each.size for each in aboard.drip_sets())
    return Supplies(
        containers=tuple(dict.fromkeys(named)),
        others=tuple(dict.fromkeys(each for each in others if each.name not in names)),
        syringes=tuple(_known_syringes(aboard)),
        left_out=tuple(each.name for each in aboard.syringes_without_marks()),
        drip_sets=tuple(Quantity(each, "gtt/mL") for each in sets),
    )


def _known_syringes(aboard: Aboard) -> list[int]:
    """The sizes of syringe aboard whose marks are known, each once."""
    there = {each.size for each in aboard.syringes()}
    return [size for size in SYRINGES if size in there]


def _named(rule: MedicineRule, aboard: Aboard) -> Iterator[Stocked]:
    for of in rule.comes_as:
        if of.need:
            yield from (_stocked(each, of) for each in aboard.of_need(of.need))


def _stocked(each: Carried, of: Container) -> Stocked:
    """An item with what one of it holds: by its own words, else as the rule knows it."""
    packing = each.packing
    amount, volume = of.amount, of.volume
    if packing and packing.amount is not None:
        amount = Quantity(packing.amount, packing.unit)
    if packing and packing.volume_ml is not None:
        volume = Quantity(packing.volume_ml, "mL")
    return Stocked(
        name=each.name,
        container=Container(each.need, each.name, amount, volume, of.is_ready),
        par=each.count,
        is_confirmed=each.is_confirmed,
    )
