"""A workbook as rows of a revision that is not stored yet."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from drills.engine.formulary_workbook import Book, Packed, Rule
from drills.formulary.models import DoseRule, FormularyRevision, Medicine, Presentation
from drills.rigs.models import Need

PLACES = Decimal("0.001")  # as the columns keep them, so that they compare as they are stored
BOUNDS = ("age_from_y", "age_below_y", "weight_from_kg", "weight_below_kg")


class RenamedError(ValueError):
    """A medicine that is called otherwise here; the text says how."""


@dataclass(frozen=True, slots=True)
class Unstored:
    """The rows of a revision: what is to be saved, in this order."""

    revision: FormularyRevision
    medicines: list[Medicine]
    presentations: list[Presentation]
    rules: list[DoseRule]


def rows_of(book: Book, number: int) -> Unstored:
    """The rows that a workbook becomes; medicines that are here already are those that are here.

    Raises `RenamedError`.
    """
    revision = FormularyRevision(
        number=number,
        name=book.name,
        written_from=book.document,
        written_version=book.version,
        written_on=book.date,
        notes=book.notes,
    )
    medicines = _medicines(book)
    needs = {each.key: each for each in Need.objects.filter(key__in=_needs(book))}
    presentations = {
        each.key: _presentation(each, revision, medicines, needs) for each in book.presentations
    }
    rules = [_rule(each, revision, medicines, presentations) for each in book.rules]
    new = [each for each in medicines.values() if each._state.adding]
    return Unstored(revision, new, list(presentations.values()), rules)


def _medicines(book: Book) -> dict[str, Medicine]:
    keys = [each.key for each in book.medicines]
    here = {each.key: each for each in Medicine.objects.filter(key__in=keys)}
    for each in book.medicines:
        found = here.setdefault(each.key, Medicine(key=each.key, name=each.name))
        if found.name != each.name:
            raise RenamedError(f"{each.key} is called {found.name} here, not {each.name}.")
    return here


def _needs(book: Book) -> set[str]:
    return {each.need for each in book.presentations if each.need}


def _presentation(
    of: Packed,
    revision: FormularyRevision,
    medicines: Mapping[str, Medicine],
    needs: Mapping[str, Need],
) -> Presentation:
    return Presentation(
        revision=revision,
        medicine=medicines[of.medicine],
        key=of.key,
        strength=of.strength,
        volume=of.volume,
        container=of.container,
        need=needs[of.need] if of.need else None,
    )


def _rule(
    of: Rule,
    revision: FormularyRevision,
    medicines: Mapping[str, Medicine],
    presentations: Mapping[str, Presentation],
) -> DoseRule:
    fields: dict[str, Any] = asdict(of)
    fields["is_mixed"] = fields.pop("mixed")
    fields["medicine"] = medicines[of.medicine]
    fields["presentations"] = list(of.presentations)
    fields["problems"] = [{"problem": key, "severities": list(of_it)} for key, of_it in of.problems]
    for bound in BOUNDS:
        if fields[bound] is not None:
            fields[bound] = fields[bound].quantize(PLACES)
    rule = DoseRule(revision=revision, **fields)
    named = [presentations[key] for key in of.presentations]
    of_medicine = [each for each in presentations.values() if each.medicine == rule.medicine]
    rule.comes_as = named or of_medicine
    return rule
