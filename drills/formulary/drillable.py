"""Rules in the engine's terms, or why one cannot be drilled."""

from decimal import Decimal
from fractions import Fraction

from drills.engine.concentrations import read_presentation
from drills.engine.devices import BAG_FROM_ML
from drills.engine.dosing import DoseRule, ProblemError, read_dose_rule
from drills.engine.dosing.reading import read_problem
from drills.engine.medicines import (
    BURN,
    DOSE,
    DRIP,
    ENERGY,
    FLUID,
    Asked,
    MedicineRule,
    ProblemOf,
    problem_asked,
)
from drills.engine.mixtures import Container, Mixture, read_mixture
from drills.engine.quantities import Quantity, QuantityError, read_quantity
from drills.formulary import models
from drills.formulary.models import Basis
from drills.formulary.models import Container as Kind

# What a rule of each basis is about, what its dose is counted per, and of what where that is said.
SHAPES: dict[str, tuple[str, tuple[str, ...], str]] = {
    Basis.FIXED: (DOSE, (), ""),
    Basis.RANGE: (DOSE, (), ""),
    Basis.PER_KG: (DOSE, ("kg",), ""),
    Basis.RANGE_PER_KG: (DOSE, ("kg",), ""),
    Basis.PER_MINUTE: (DRIP, ("min",), ""),
    Basis.PER_KG_PER_MINUTE: (DRIP, ("kg", "min"), ""),
    Basis.PER_HOUR: (DRIP, ("h",), ""),
    Basis.ML_PER_KG: (FLUID, ("kg",), "volume"),
    Basis.ML_PER_KG_PER_PERCENT: (BURN, ("%", "kg"), "volume"),
    Basis.J_PER_KG: (ENERGY, ("kg",), "energy"),
}
# The limits that a problem of each topic takes; a rule that has another is not drilled without it.
LIMITS = {
    DOSE: {"range", "minimum", "maximum"},
    FLUID: {"range", "minimum", "maximum"},
    DRIP: {"range", "maximum"},
    ENERGY: {"range", "maximum"},
    BURN: set[str](),
}
SOMEBODY = Asked(weight="20 kg", area="20 %", drip_set="60 gtt/mL")
GIVEN_WHOLE = (Kind.SPRAY, Kind.AUTOINJECTOR)
NOT_SAID = Container("", "what it comes in")
ONE_KG, ONE_TABLET = Quantity(Fraction(1), "kg"), Quantity(Fraction(1), "tablet")


class NotDrillableError(ValueError):
    """Raised for a rule that cannot be drilled yet; the text says why, to follow its name."""


def drillable(row: models.DoseRule) -> MedicineRule:
    """A rule in the engine's terms; raises `NotDrillableError` for one that cannot be drilled."""
    if row.lacking:
        raise NotDrillableError(f"it has no {' and no '.join(row.lacking)}")
    if row.basis not in SHAPES:
        raise NotDrillableError(f"its basis, {row.basis}, is not known")
    try:
        rule = _rule(row)
        read_problem(problem_asked(rule, SOMEBODY))
    except (QuantityError, ProblemError, ZeroDivisionError) as error:
        raise NotDrillableError(f"its figures do not read: {error}") from error
    return rule


def _rule(row: models.DoseRule) -> MedicineRule:
    topic = SHAPES[row.basis][0]
    figures = _figures(row)
    comes_as = tuple(map(_container, row.comes_as))
    mixture = _mixture(row, comes_as)
    _refuse_whole(row)
    measured = _measured(row, comes_as, mixture)
    if measured and measured.amount:
        _refuse_unlike(figures, measured.amount)
    return MedicineRule(
        code=row.code,
        medicine=row.medicine.name,
        medicine_key=row.medicine.key,
        topic=topic,
        indication=row.indication,
        route=row.route,
        level=row.level,
        need=comes_as[0].need if comes_as else "",
        problems=tuple(
            ProblemOf(each["problem"], tuple(each.get("severities", ()))) for each in row.problems
        ),
        ages=(_exact(row.age_from_y), _exact(row.age_below_y)),
        weights=(_exact(row.weight_from_kg), _exact(row.weight_below_kg)),
        rule=figures,
        presentation=measured.presentation if measured else None,
        comes_as=comes_as,
        mixture=mixture,
        dilution=row.dilution,
        error_limit=row.error_limit,
        repeat_min=row.repeat_min,
        repeat_times=row.repeat_times,
        repeat_note=row.repeat_note,
        max_total=read_quantity(row.max_total) if row.max_total else None,
        over_min=row.over_min,
        over_note=row.over_note,
        printed=row.printed,
        source=row.source,
        version=row.version,
        status=row.status_told,
        notice=row.revision.warning,
    )


def _exact(bound: Decimal | None) -> Fraction | None:
    return None if bound is None else Fraction(bound)


def _figures(row: models.DoseRule) -> DoseRule:
    """The figures of a rule, in units that are those of its basis, and none that is lost."""
    topic, per, family = SHAPES[row.basis]
    rule = read_dose_rule(row.dose, high=row.dose_high, minimum=row.minimum, maximum=row.maximum)
    for dose in rule.doses:
        if tuple(sorted(dose.per)) != per or family not in ("", dose.family):
            basis = row.get_basis_display()
            raise QuantityError(f"{str(dose)!r} is no dose {basis}; one by weight ends with /kg.")
    for amount in filter(None, (*rule.doses, rule.minimum, rule.maximum)):
        if not amount.amount:
            raise QuantityError(f"{amount} is nothing to give.")
    if rule.dose_high and rule.dose_high.ratio_to(rule.dose) < 1:
        raise QuantityError(f"{rule.dose} to {rule.dose_high} runs downwards.")
    _refuse_limits(topic, rule)
    return rule


def _refuse_limits(topic: str, rule: DoseRule) -> None:
    """Raise for a limit of another kind than the dose, and for one that would be lost."""
    limits = {"minimum": rule.minimum, "maximum": rule.maximum}
    if topic != DRIP:
        whole = rule.dose.of(ONE_KG) if rule.is_per_kg else rule.dose
        for limit in filter(None, limits.values()):
            limit.to(whole.unit)
    is_by_volume = topic == DRIP and rule.dose.family == "volume"
    has = {"range": rule.dose_high, **limits}
    taken = set[str]() if is_by_volume else LIMITS[topic]
    if lost := sorted({name for name in has if has[name]} - taken):
        raise NotDrillableError(f"it has a {lost[0]}, which no {topic} asks about yet")


def _refuse_unlike(figures: DoseRule, amount: Quantity) -> None:
    """Raise where a figure is of another kind than what it is measured from."""
    for each in filter(None, (*figures.doses, figures.minimum, figures.maximum)):
        if each.family != amount.family:
            raise QuantityError(f"{each} and {amount} are different kinds of amount.")


def _container(row: models.Presentation) -> Container:
    need = row.need.key if row.need else ""
    if row.packed:
        held = read_presentation(row.packed)
        is_ready = row.container == Kind.SYRINGE
        return Container(need, row.printed, held.amount, held.volume, is_ready)
    if not row.strength:
        volume = read_quantity(row.volume).to("mL") if row.volume else None
        return Container(need, row.printed, None, volume)
    is_alone = "/" not in row.strength and "%" not in row.strength
    amount = read_quantity(row.strength) if is_alone else None
    is_piece = row.container == Kind.TABLET
    return Container(need, row.printed, amount, ONE_TABLET if is_piece else None)


def _mixture(row: models.DoseRule, comes_as: tuple[Container, ...]) -> Mixture | None:
    """How it is mixed; where only what it is run in is said, without figures, none."""
    if not row.is_mixed and not (row.take and row.diluent_volume):
        return None
    if not comes_as or not (row.diluent_volume or row.final_strength):
        raise NotDrillableError(
            f"it is mixed before it is drawn up ({row.dilution}), and no figures say how"
        )
    return read_mixture(
        comes_as[0],
        take=row.take,
        added=row.diluent_volume,
        diluent=row.diluent,
        strength=row.final_strength,
    )


def _measured(
    row: models.DoseRule, comes_as: tuple[Container, ...], mixture: Mixture | None
) -> Container | None:
    """What is drawn up or run in by its strength; None of what is measured without one."""
    topic, _, family = SHAPES[row.basis]
    if family or (topic == DRIP and read_quantity(row.dose).family == "volume"):
        return None
    if mixture and (row.is_mixed or topic == DRIP):
        return Container("", row.dilution, mixture.amount, mixture.volume)
    return _as_it_comes(comes_as[0] if comes_as else NOT_SAID, topic)


def _refuse_whole(row: models.DoseRule) -> None:
    """Raise for what is given as it comes: there is nothing to work out."""
    if row.comes_as and row.comes_as[0].container in GIVEN_WHOLE:
        raise NotDrillableError(
            f"{row.comes_as[0].printed} is given whole: one is a dose, nothing is drawn up from it"
        )


def _as_it_comes(first: Container, topic: str) -> Container:
    if first.presentation is None:
        raise NotDrillableError(f"{first.printed} has no volume to draw up")
    volume = first.presentation.volume
    if topic == DRIP and (volume.unit != "mL" or volume.amount < BAG_FROM_ML):
        raise NotDrillableError(f"it is a rate, and nothing says how {first.printed} is mixed")
    return first
