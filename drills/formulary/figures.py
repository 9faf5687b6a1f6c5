"""The figures of a rule as the engine holds two of them against each other."""

from drills.engine.changed_figures import STRENGTH, Changed, Figures, changed_figures
from drills.engine.quantities import QuantityError
from drills.formulary.models import DoseRule, Presentation

# What the engine calls the figure in a field of a rule.
_NAMED = {
    "dose": "dose",
    "dose_high": "upper end of the dose",
    "minimum": "minimum",
    "maximum": "maximum",
    "max_total": "most in all",
    "final_strength": "strength when mixed",
    "take": "taken for mixing",
    "diluent_volume": "mixed with",
    "repeat_min": "least minutes between",
    "repeat_times": "how many more",
    "over_min": "minutes to give it over",
    "error_limit": "unsafe from percent",
}


def changed_in(old: DoseRule, new: DoseRule) -> dict[str, Changed]:
    """The figures that differ between two rules, by field; `strengths_changed` has the others."""
    changed = {each.name: each for each in changed_figures(figures_of(old), figures_of(new))}
    return {field: changed[name] for field, name in _NAMED.items() if name in changed}


def strengths_changed(old: DoseRule, new: DoseRule) -> list[Changed]:
    """The strengths that two rules are given from, where they differ, each by itself."""
    changed = changed_figures(figures_of(old), figures_of(new))
    return [each for each in changed if each.name == STRENGTH]


def figures_of(of: DoseRule) -> Figures:
    return Figures(
        dose=of.dose,
        dose_high=of.dose_high,
        minimum=of.minimum,
        maximum=of.maximum,
        total=of.max_total,
        strengths={each.key: _strength(each) for each in of.comes_as},
        final_strength=of.final_strength,
        take=of.take,
        diluent_volume=of.diluent_volume,
        repeat_min=_whole(of.repeat_min),
        repeat_times=_whole(of.repeat_times),
        over_min=_whole(of.over_min),
        error_limit=_whole(of.error_limit),
        rests_on=(of.source, of.version, of.page, of.date.isoformat() if of.date else ""),
        note=of.notes,
    )


def _strength(of: Presentation) -> str:
    try:
        return of.packed or of.strength
    except QuantityError:
        return of.strength


def _whole(number: int | None) -> str:
    return "" if number is None else str(number)
