"""What a rule is given from, held against its dose, and how it is mixed."""

from collections.abc import Mapping
from fractions import Fraction

from drills.engine.concentrations import SUBSTANCES, packed, read_presentation, read_strength
from drills.engine.formulary_workbook.amounts import amount, family_in
from drills.engine.formulary_workbook.book import Packed, Rule
from drills.engine.quantities import (
    PIECES,
    VOLUME,
    Quantity,
    QuantityError,
    read_quantity,
    sum_of,
)
from drills.engine.workbook.cells import Row
from drills.engine.workbook.problems import quote

ML = "mL"


def taken(row: Row) -> Quantity | None:
    """What is taken of the presentation: an amount of it, a volume, or pieces."""
    found = amount(row, "take", "an amount or a volume of the presentation, such as 4 mg or 1 mL")
    if found and (found.per or found.family not in (*SUBSTANCES, VOLUME, PIECES)):
        row.refuse("take", quote(str(found)), "an amount or a volume, such as 4 mg or 1 mL")
        return None
    return found


def check_presentations(row: Row, rule: Rule, packed_by_key: Mapping[str, Packed]) -> None:
    """Refuse a presentation of another medicine, and one that does not hold what is counted."""
    named = (packed_by_key[key] for key in rule.presentations if key in packed_by_key)
    for each in named:
        if len({each.medicine, rule.medicine} - {""}) > 1:
            got, accepted = f"is {each.medicine}", f"presentations of {rule.medicine}"
            row.refuse("presentations", f"{quote(each.key)}, which {got},", accepted)
        elif (each.strength or each.volume) and not _holds(rule, family_in(each.strength)):
            got = f"holds {each.strength}" if each.strength else "is a plain fluid"
            accepted = f"what holds the {rule.dose} of the dose"
            row.refuse("presentations", f"{quote(each.key)}, which {got},", accepted)


def _holds(rule: Rule, family: str) -> bool:
    """Whether what counts such a family can hold the dose: of a volume anything can."""
    dosed = read_quantity(rule.dose).family if rule.dose else ""
    return dosed not in SUBSTANCES or dosed == family


def check_mixing(row: Row, rule: Rule, packed_by_key: Mapping[str, Packed]) -> None:
    """Refuse a mixture that no dose can be drawn from, and remark one whose figures do not agree.

    They may disagree for a reason, such as a bag with more in it than it says.
    """
    if rule.final_strength:
        final = _final(row, rule)
        if final is not None:
            _remark_other(row, _made(rule, packed_by_key), final)
    elif rule.mixed:
        row.remark("final_strength", "it is mixed to a strength that is not given")


def _final(row: Row, rule: Rule) -> Quantity | None:
    """The strength that is drawn from; refused where it has no volume or holds something else."""
    accepted = f"what holds the {rule.dose} of the dose"
    try:
        final = read_strength(rule.final_strength)
        if _holds(rule, final.family):
            return final
    except QuantityError:
        accepted = "a strength per mL, such as 10 mcg/mL"
    row.refuse("final_strength", quote(rule.final_strength), accepted)
    return None


def _remark_other(row: Row, made: list[Quantity], final: Quantity) -> None:
    is_one = any(each.kind == final.kind and each.ratio_to(final) == 1 for each in made)
    if made and not is_one:
        told = " or ".join(dict.fromkeys(map(str, made)))
        row.remark("final_strength", f"take and diluent_volume make {told} of it")


def _made(rule: Rule, packed_by_key: Mapping[str, Packed]) -> list[Quantity]:
    """The strength that mixing makes: made up to the volume, and with the volume added; none
    where what stands does not say it."""
    of = packed_by_key.get(rule.presentations[0]) if rule.presentations else None
    if of is None or not rule.diluent_volume:
        return []
    diluent = read_quantity(rule.diluent_volume).to(ML)
    try:
        substance, added = _taken_of(rule.take, of)
        return [substance.over(each) for each in (diluent, sum_of([diluent, added]))]
    except QuantityError:
        return []


def _taken_of(take: str, of: Packed) -> tuple[Quantity, Quantity]:
    """The substance that is taken, and its volume; all of one where nothing else is said."""
    wanted = read_quantity(take) if take else None
    holds = packed(of.strength, of.volume)
    if not holds:
        return wanted or read_quantity(of.strength), Quantity(Fraction(0), ML)
    held = read_presentation(holds)
    if wanted is None:
        return held.amount, held.volume
    if wanted.family == VOLUME:
        return held.amount_in(wanted), wanted
    return wanted, held.volume_of(wanted)
