"""What of the formulary is in force, and which of its rules can be drilled."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from django.conf import settings
from django.utils import timezone

from drills.engine.concentrations import Presentation, read_presentation
from drills.engine.dosing import DoseRule, read_dose_rule
from drills.engine.medicines import MedicineRule, Number, ProblemOf, fits
from drills.engine.quantities import Quantity, QuantityError
from drills.engine.strengths import StrengthError
from drills.formulary import models
from drills.formulary.models import Basis, FormularyRevision, FormularyState

DRAWN = frozenset({Basis.FIXED, Basis.RANGE, Basis.PER_KG, Basis.RANGE_PER_KG})
BY_WEIGHT = frozenset({Basis.PER_KG, Basis.RANGE_PER_KG})
ONE_KG = Quantity(Fraction(1), "kg")
RATE = "it is a rate, not a volume to draw up"
FLUID = "it is a volume of fluid to run in, not a medicine to draw up"
NOT_DRAWN: dict[str, str] = {
    Basis.PER_MINUTE: RATE,
    Basis.PER_KG_PER_MINUTE: RATE,
    Basis.PER_HOUR: RATE,
    Basis.ML_PER_KG: FLUID,
    Basis.ML_PER_KG_PER_PERCENT: FLUID,
    Basis.J_PER_KG: "it is an energy: nothing is drawn up",
}


class FormularyLockedError(ValueError):
    """Raised when no formulary may be drilled; the text is one line saying why."""

    def __init__(self) -> None:
        super().__init__(
            "Dose drills are closed: the formulary is not approved. "
            "A medical director approves a revision of it first."
        )


class NotDrillableError(ValueError):
    """Raised for a rule that cannot be drilled yet; the text says why, to follow its name."""


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
    if approved or not settings.READINESS_DEMO:
        return approved
    return rows.filter(is_demo=True).last()


def rules_in_force(now: datetime) -> FormularyInForce:
    """The formulary as drills ask about it; raises `FormularyLockedError` when there is none."""
    revision = revision_in_force(now)
    if revision is None:
        raise FormularyLockedError
    rules, left_out = sorted_out(rules_of(revision))
    return FormularyInForce(
        number=revision.number,
        is_demo=revision.is_demo,
        notice=revision.notice,
        approved_by=revision.approved_by_name,
        approved_on=revision.approved_on,
        document=revision.document,
        rules=tuple(rules),
        left_out=tuple(left_out),
    )


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


def drillable(row: models.DoseRule) -> MedicineRule:
    """A rule in the engine's terms; raises `NotDrillableError` for one that cannot be drilled."""
    if row.lacking:
        raise NotDrillableError(f"it has no {' and no '.join(row.lacking)}")
    rule, presentation = _figures(row)
    return MedicineRule(
        code=row.code,
        medicine=row.medicine.name,
        indication=row.indication,
        route=row.route,
        level=row.level,
        need=_need(row),
        problems=tuple(
            ProblemOf(each["problem"], tuple(each.get("severities", ()))) for each in row.problems
        ),
        ages=(_exact(row.age_from_y), _exact(row.age_below_y)),
        weights=(_exact(row.weight_from_kg), _exact(row.weight_below_kg)),
        rule=rule,
        presentation=presentation,
        printed=row.printed,
        source=row.source,
        version=row.version,
        status=row.status,
        notice=row.revision.notice,
    )


def _exact(bound: Decimal | None) -> Fraction | None:
    return None if bound is None else Fraction(bound)


def _figures(row: models.DoseRule) -> tuple[DoseRule, Presentation]:
    if row.basis not in DRAWN:
        unknown = f"its basis, {row.basis}, is not known"
        raise NotDrillableError(NOT_DRAWN.get(row.basis, unknown))
    if row.is_mixed:
        raise NotDrillableError(f"it is mixed before it is drawn up ({row.dilution})")
    try:
        return _read(row, _packed(row))
    except (QuantityError, StrengthError, ZeroDivisionError) as error:
        raise NotDrillableError(f"its figures do not read: {error}") from error


def _need(row: models.DoseRule) -> str:
    need = row.comes_as[0].need if row.comes_as else None
    return need.key if need else ""


def _packed(row: models.DoseRule) -> str:
    """What one of the presentation that is named first holds."""
    packed = row.comes_as[0].packed if row.comes_as else ""
    if not packed:
        what = row.comes_as[0].printed if row.comes_as else "what it comes in"
        raise NotDrillableError(f"{what} has no volume to draw up")
    return packed


def _read(row: models.DoseRule, packed: str) -> tuple[DoseRule, Presentation]:
    """The figures of a rule, every one of them an amount that its presentation can hold."""
    rule = read_dose_rule(row.dose, high=row.dose_high, minimum=row.minimum, maximum=row.maximum)
    if rule.is_per_kg != (row.basis in BY_WEIGHT):
        basis = row.get_basis_display()
        raise QuantityError(f"{row.dose!r} is no dose {basis}; one by weight ends with /kg.")
    presentation = read_presentation(packed)
    doses = [each.of(ONE_KG) if rule.is_per_kg else each for each in rule.doses]
    for amount in filter(None, (*doses, rule.minimum, rule.maximum)):
        if not amount.to(presentation.amount.unit).amount:
            raise QuantityError(f"{amount} is nothing to give.")
    if rule.dose_high and rule.dose_high.ratio_to(rule.dose) < 1:
        raise QuantityError(f"{rule.dose} to {rule.dose_high} runs downwards.")
    return rule, presentation
