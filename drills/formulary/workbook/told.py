"""A revision as a workbook says it, and what a workbook may speak of."""

from dataclasses import replace

from django.db.models import Q

from drills.engine.formulary_workbook import Book, Known, Medicine, Packed, Rule
from drills.engine.formulary_workbook.columns import COLUMNS
from drills.formulary import models
from drills.formulary.models import DoseRule, FormularyRevision, Presentation
from drills.formulary.models.texts import DEMO_NAME, DEMO_NOTICE
from drills.formulary.reports import rules_of
from drills.people.models import CertificationLevel
from drills.rigs.models import Need

UNNAMED = "Formulary"
# Columns whose value is not the field of that name as it stands.
_TURNED = ("medicine", "presentations", "problems", "mixed")
_PLAIN = [column for column in COLUMNS["rules"] if column not in _TURNED]


def known() -> Known:
    """The levels, needs, medicines and problems that are here already."""
    problems = DoseRule.objects.values_list("problems", flat=True).distinct()
    return Known(
        levels=tuple(CertificationLevel.objects.order_by("rank").values_list("key", flat=True)),
        needs=frozenset(Need.objects.values_list("key", flat=True)),
        problems=frozenset(each["problem"] for listed in problems for each in listed),
        medicines=dict(models.Medicine.objects.values_list("key", "name")),
    )


def book_of(revision: FormularyRevision) -> Book:
    """All that a revision says, in the order of its keys and codes."""
    used = Q(presentations__revision=revision) | Q(rules__revision=revision)
    medicines = models.Medicine.objects.filter(used).distinct().order_by("key")
    presentations = revision.presentations.select_related("medicine", "need").order_by("key")
    return Book(
        name=revision.name or (str(revision) if revision.is_demo else UNNAMED),
        document=revision.written_from,
        version=revision.written_version,
        date=revision.written_on,
        notes=revision.notes or revision.notice,
        medicines=tuple(Medicine(each.key, each.name) for each in medicines),
        presentations=tuple(_packed(each) for each in presentations),
        rules=tuple(_rule(each) for each in rules_of(revision)),
    )


def own(book: Book) -> Book:
    """A formulary as a draft of one's own says it, which claims to be no demonstration.

    The name and the notice are the demonstration's alone: they are left out of a workbook that
    began as its export.
    """
    is_named_so = book.name.strip().casefold() == DEMO_NAME.casefold()
    notes = book.notes.replace(DEMO_NOTICE, "").strip()
    return replace(book, name=UNNAMED if is_named_so else book.name, notes=notes)


def in_order(book: Book) -> Book:
    """A formulary in the order that a revision is told in, which keeps no order of rows."""
    return replace(
        book,
        medicines=tuple(sorted(book.medicines, key=lambda each: each.key)),
        presentations=tuple(sorted(book.presentations, key=lambda each: each.key)),
        rules=tuple(sorted(book.rules, key=lambda each: each.code)),
    )


def _packed(of: Presentation) -> Packed:
    need = of.need.key if of.need else ""
    return Packed(of.key, of.medicine.key, of.strength, of.volume, of.container, need)


def _rule(of: DoseRule) -> Rule:
    return Rule(
        medicine=of.medicine.key,
        presentations=tuple(of.presentations),
        problems=tuple(
            (each["problem"], tuple(each.get("severities", ()))) for each in of.problems
        ),
        mixed=of.is_mixed,
        **{column: getattr(of, column) for column in _PLAIN},
    )
