"""What of the formulary is in force, and which of its rules can be drilled."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.conf import settings
from django.utils import timezone

from drills.engine.medicines import MedicineRule, Number, fits
from drills.formulary import models
from drills.formulary.drillable import NotDrillableError, drillable
from drills.formulary.models import DosingSettings, FormularyRevision, FormularyState


class FormularyLockedError(ValueError):
    """Raised when no formulary may be drilled; the text is one line saying why."""

    def __init__(self) -> None:
        super().__init__(
            "Dose drills are closed: the formulary is not approved. "
            "A medical director approves a revision of it first."
        )


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A rule that cannot be drilled yet, and why."""

    code: str
    medicine: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FormularyInForce:
    """What may be drilled, and what every page that shows it says beside it."""

    number: int
    is_demo: bool
    notice: str
    approved_by: str
    approved_on: date | None
    document: str
    rules: tuple[MedicineRule, ...]
    left_out: tuple[LeftOut, ...]

    def fitting(
        self, problem: str, severity: int, age_y: Number, weight_kg: Number
    ) -> tuple[MedicineRule, ...]:
        """The rules for such a patient, in the order of their codes."""
        return tuple(each for each in self.rules if fits(each, problem, severity, age_y, weight_kg))


def revision_in_force(now: datetime) -> FormularyRevision | None:
    """The approved revision; on a demonstration without one, the demonstration's; else none."""
    rows = FormularyRevision.objects.all()
    approved = rows.filter(
        state=FormularyState.APPROVED, approved_on__lte=timezone.localdate(now)
    ).first()
    return approved or demonstration()


def demonstration() -> FormularyRevision | None:
    """What a demonstration drills until a revision is approved; nothing anywhere else."""
    if not settings.READINESS_DEMO:
        return None
    return FormularyRevision.objects.filter(is_demo=True).last()


def before_of(revision: FormularyRevision) -> FormularyRevision | None:
    """What a revision is held against: the approved one, or of the approved and older ones the
    one before; without one the demonstration, where that is what was drilled till then."""
    rows = FormularyRevision.objects.exclude(pk=revision.pk)
    if revision.is_demo:
        return None
    if revision.state in (FormularyState.DRAFT, FormularyState.SUBMITTED):
        before = rows.filter(state=FormularyState.APPROVED).first()
    else:
        older = rows.filter(number__lt=revision.number, state=FormularyState.SUPERSEDED)
        before = older.order_by("number").last()
    return before or demonstration()


def rules_in_force(now: datetime) -> FormularyInForce:
    """The formulary as drills ask about it; raises `FormularyLockedError` when there is none."""
    revision = revision_in_force(now)
    if revision is None:
        raise FormularyLockedError
    rules, left_out = sorted_out(rules_of(revision))
    return FormularyInForce(
        number=revision.number,
        is_demo=revision.is_demo,
        notice=revision.warning,
        approved_by=revision.approved_by_name,
        approved_on=revision.approved_on,
        document=revision.document,
        rules=tuple(rules),
        left_out=tuple(left_out),
    )


def dosing_settings() -> DosingSettings:
    """How the service works doses out; where nobody set it, as it comes."""
    return DosingSettings.objects.first() or DosingSettings()


def rules_of(revision: FormularyRevision) -> list[models.DoseRule]:
    """The rules of a revision in the order of their codes, with what they speak of."""
    rules = list(revision.rules.select_related("medicine"))
    presentations = list(revision.presentations.select_related("medicine", "need"))
    for rule in rules:
        rule.comes_as = rule.picked(presentations)
    return rules


def sorted_out(rows: Iterable[models.DoseRule]) -> tuple[list[MedicineRule], list[LeftOut]]:
    """The rules that can be drilled, and the others with the reason of each."""
    rules, left_out = [], []
    for row in rows:
        try:
            rules.append(drillable(row))
        except NotDrillableError as error:
            left_out.append(LeftOut(row.code, row.medicine.name, str(error)))
    return rules, left_out
