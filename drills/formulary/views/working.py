"""A rule worked out for a patient, on its own page."""

from collections.abc import Iterator
from typing import Any

from django.utils import timezone

from drills.engine.ages import AgeError
from drills.engine.concentrations import told_strength
from drills.engine.devices import SYRINGES
from drills.engine.dosing import ProblemError
from drills.engine.dosing.opening import Stocked, most_of
from drills.engine.dosing.pump import THE_MOST, is_cut_short
from drills.engine.dosing.results import Refusal, Result
from drills.engine.dosing.rounded import never_up_words
from drills.engine.dosing.running import Drops, Running
from drills.engine.dosing.treatment import Worked, work_out
from drills.engine.estimates import weight_formulas
from drills.engine.exercises.dose import is_given_whole
from drills.engine.medicines import BURN
from drills.engine.mixtures import Container, Mixture
from drills.engine.quantities import QuantityError, plain
from drills.engine.tables import NotThereError
from drills.formulary.aboard import Place, places_for, supplies_of
from drills.formulary.drillable import NotDrillableError, drillable
from drills.formulary.forms import PatientForm, age_and_unit
from drills.formulary.models import MOST_OFF, POUNDS, ROUNDING, DoseRule
from drills.formulary.reports import dosing_settings
from drills.people.access import Request

# What stands folded away in the form until something is told there.
MORE = ("at", "before", "given", "pounds", "rounding", "refused_from")


def worked_for(request: Request, row: DoseRule) -> dict[str, Any]:
    """What the page shows of a rule that is worked out: the form, and with a patient the working
    or why there is none. Nothing for a rule that has no figures to work with."""
    try:
        rule = drillable(row)
    except NotDrillableError:
        return {}
    places = places_for(request.user)
    typed, is_more_told = _typed(request)
    context: dict[str, Any] = {
        "places": places,
        "formulas": weight_formulas(),
        "pounds": POUNDS,
        "roundings": ROUNDING,
        "most_off": MOST_OFF,
        "is_burn": rule.topic == BURN,
        "shared": _sharing(row),
        "typed": typed,
        "is_more_told": is_more_told,
    }
    if "age" not in request.GET:
        return context
    form = PatientForm(typed)
    if not form.is_valid():
        name, told = next(iter(form.errors.items()))
        came = f"{typed[name]!r} came in; " if typed.get(name) else ""
        return context | {"worked_fault": f"{_spoken(name)}: {came}{told[0]}"}
    place = next((each for each in places if each.key == form.cleaned_data["on"]), None)
    if place is None:
        return context | {"worked_fault": "Rig: there is none of that name."}
    try:
        worked = work_out(
            form.patient,
            rule,
            supplies_of(rule, place.aboard),
            form.settings,
            course=form.course(timezone.localdate()),
        )
    except (ProblemError, QuantityError, NotThereError, AgeError) as error:
        said = str(error)
        return context | {"worked_fault": said[:1].upper() + said[1:]}
    return context | {
        "worked": worked,
        "place": place,
        "figures": _figures(worked, place),
        "others": _others(worked),
    }


def _spoken(name: str) -> str:
    return name.capitalize().replace("_", " ")


def _others(worked: Worked) -> list[tuple[Stocked, str]]:
    """What else is aboard of it, each with why the volume above may not be drawn from it."""
    comes_as = worked.rule.comes_as
    own = worked.chosen.container if worked.chosen else next(iter(comes_as), None)
    named = {each.need for each in comes_as if each.need}
    is_drawn = "volume" in worked.results
    found = []
    for each in worked.others:
        unlike = _unlike(own, each.container) if is_drawn else ""
        found.append((each, "; ".join(filter(None, (unlike, _unnamed(each, named))))))
    return found


def _unnamed(other: Stocked, named: set[str]) -> str:
    """That a rule does not name what else is aboard; nothing of a rule that names no container."""
    is_named = not named or other.container.need in named
    return "" if is_named else "the rule does not name it: ask medical direction"


def _unlike(own: Container | None, other: Container) -> str:
    """Why the volume that is drawn from one is not that of the other; empty where it is."""
    if own is None or own.presentation is None or other.presentation is None:
        return "its strength is not known here: the volume above may not hold for it"
    mine, its = own.presentation.strength, other.presentation.strength
    if mine.kind == its.kind and its.ratio_to(mine) == 1:
        return ""
    return f"another strength ({told_strength(its)}): the volume above does not hold for it"


def _sharing(row: DoseRule) -> list[DoseRule]:
    """The rules of the medicine that have the same most in all: what was given by them counts."""
    if not row.max_total:
        return []
    of_it = row.revision.rules.filter(medicine=row.medicine, max_total=row.max_total)
    return list(of_it.exclude(pk=row.pk))


def _typed(request: Request) -> tuple[dict[str, Any], bool]:
    """What was typed beside what the service works by, and whether any of it was folded away."""
    kept = dosing_settings()
    usual = {
        "pounds": kept.pounds,
        "rounding": kept.rounding,
        "refused_from": str(kept.refused_from),
    }
    typed = usual | {name: value for name, value in request.GET.items() if value}
    typed |= age_and_unit(request.GET.get("age", ""))
    return typed, any(typed.get(name) != usual.get(name) for name in MORE)


def _figures(worked: Worked, place: Place) -> list[tuple[str, str, str]]:
    """The figures as they are read at a glance: what it is, the figure, and a note."""
    found = [
        (_name_of(worked, name), result.answer + _of_mixture(worked, name), note_of(worked, name))
        for name, result in worked.results.items()
        if name in _NAMES and (name not in _REFUSED or result.rounded)
    ]
    found += [*left_out_of(worked), *_opening(worked, place)]
    return [*_mixing(worked), *found, *_running(worked), *_again(worked)]


def _name_of(worked: Worked, name: str) -> str:
    """Whole containers go into the nebuliser as they come: nothing is drawn up."""
    return NEBULISED_WHOLE if name == "volume" and is_given_whole(worked.rule) else _NAMES[name]


def _mixing(worked: Worked) -> list[tuple[str, str, str]]:
    """Whoever reads the first boxes alone must not draw the container up as it comes."""
    mixture = _mixed_first(worked)
    if mixture is None:
        return []
    strength = told_strength(mixture.presentation.strength)
    printed = worked.rule.dilution
    note = "" if printed.startswith(mixture.how) else printed
    return [(MIX_FIRST, f"{mixture.how}: {strength}", note)]


def _of_mixture(worked: Worked, name: str) -> str:
    mixture = _mixed_first(worked)
    if mixture is None or name != "volume":
        return ""
    return f" of {told_strength(mixture.presentation.strength)}, after mixing"


def _mixed_first(worked: Worked) -> Mixture | None:
    """The mixture where it is what is measured, and no container as it comes."""
    mixture = worked.rule.mixture
    return mixture if mixture and mixture.presentation == worked.rule.presentation else None


MIX_FIRST, NOT_BY_THIS = "Mix first", "not by this"
NEBULISED_WHOLE = "In the nebuliser"


_NAMES = {
    "dose": "Dose",
    "volume": "Draw up",
    "energy": "Energy",
    "total": "Fluid in 24 hours",
    "first_half_rate": "Until 8 hours after the injury",
}
# What is told only where it may be given so; else the refusal is.
_REFUSED = ("volume", "first_half_rate")
A_DAY = 1440
_LIMITS = {"max": "the maximum applies", "min": "the minimum applies"}


def note_of(worked: Worked, name: str) -> str:
    """By what it is measured, which limit it met, and that it is not rounded up."""
    result = worked.results[name]
    said = (
        _measured_by(worked, result) if name == "volume" else "",
        _limit_of(worked) if name in ("dose", "energy") else "",
        never_up_words(result) if result.rounded != result.exact else "",
    )
    return ", ".join(filter(None, said))


def _limit_of(worked: Worked) -> str:
    """The limits that the dose met; a cut by the most in all says by itself what is left."""
    if worked.cut:
        return "no more in all"
    met = worked.rule.rule.for_weight(worked.kg)
    return ", ".join(_LIMITS[each] for each in dict.fromkeys((met.limit, met.limit_high)) if each)


def _measured_by(worked: Worked, volume: Result) -> str:
    if volume.exact.unit != "mL":
        return ""
    if is_given_whole(worked.rule):
        return "whole containers, nothing is drawn up"
    by = f"with {worked.device}" if worked.device else "no syringe is known aboard"
    high = volume.step_high if volume.is_range else None
    marks = " and ".join(dict.fromkeys(map(plain, (volume.step, high or volume.step))))
    return _whole_of(worked, volume) or f"{by}, marks {marks} mL apart{_filled(worked, volume)}"


def _filled(worked: Worked, volume: Result) -> str:
    """How often the device is filled; nothing of once."""
    fills = worked.device.fills(most_of(volume).amount) if worked.device else 1
    if fills == 1:
        return ""
    held = worked.chosen.container if worked.chosen else None
    return ", given as it comes" if worked.rule.is_ready(held) else f", filled {fills} times"


def _whole_of(worked: Worked, volume: Result) -> str:
    """The containers that hold exactly as much, where they are fewer than the fillings."""
    opened, device = worked.opened, worked.device
    if opened is None or device is None or opened.holds.times(opened.needed) != volume.exact:
        return ""
    is_fewer = opened.needed < device.fills(volume.exact.amount)
    return f"{opened.needed} of {opened.holds}, given whole" if is_fewer else ""


def left_out_of(worked: Worked) -> Iterator[tuple[str, str, str]]:
    """The syringes aboard that nothing is measured with, where something is drawn up."""
    if worked.left_out and worked.volume and worked.volume.exact.unit == "mL":
        known = ", ".join(map(str, SYRINGES))
        note = f"marks are known of {known} mL syringes alone"
        yield "Left out", "; ".join(worked.left_out), note


def _opening(worked: Worked, place: Place) -> list[tuple[str, str, str]]:
    opened = worked.opened
    if opened is None:
        return []
    of = worked.chosen.name if worked.chosen else f"none is known aboard {place.name}"
    of = f"to mix it from: {of}" if _mixed_first(worked) else of
    note = f"{of}; par {opened.par}" if opened.par is not None else of
    return [("Open", str(opened.needed), note)]


def _running(worked: Worked) -> list[tuple[str, str, str]]:
    running, rule = worked.running, worked.rule
    # How it is run in is nothing to go by where it is refused.
    over_note = "" if worked.refusal else rule.over_note
    found = [("Given", over_note, "")] if over_note else []
    if rule.over_min and rule.over_min < A_DAY:
        found = [("Give over", f"{rule.over_min} min", over_note)]
    return found if running is None else [*found, *_run(running, worked.refusal)]


def _run(running: Running, told: Refusal | None) -> Iterator[tuple[str, str, str]]:
    """The pump, the drops, and how long a bag lasts; `told` is the refusal shown already."""
    yield ("Pump", *_pumped(running, told))
    for each in running.drops:
        figure, said = _set_to(each)
        yield f"Drops, {each.drip_set}", figure, "; ".join(filter(None, (said, _given_by(each))))
    if running.lasts:
        note = "at its fastest" if running.pump.is_range else ""
        yield "A bag lasts", running.lasts.answer, note


def _pumped(running: Running, told: Refusal | None) -> tuple[str, str]:
    """What the pump is set to, or why it is not and what is done instead."""
    pump, refusal = running.pump, running.refusal
    if pump.rounded is None and refusal:
        said = () if refusal == told else (refusal.because, *refusal.instead)
        return NOT_BY_THIS, " ".join(said)
    if is_cut_short(pump):
        return pump.answer, f"{THE_MOST}; the range goes on to {pump.high}"
    return pump.answer, f"over {running.over}" if running.over else ""


def _given_by(drops: Drops) -> str:
    """The dose that the first setting of a range gives, where it is not the start itself."""
    rate = drops.rate
    is_off = rate.is_range and rate.mark != rate.exact
    return f"{rate.mark} gives {drops.gives}" if drops.gives and is_off else ""


def _set_to(drops: Drops) -> tuple[str, str]:
    """Drops as they are set, or why they are not."""
    rate = drops.rate
    if rate.rounded:
        return rate.answer, ""
    if drops.is_countable:
        return NOT_BY_THIS, f"no setting comes near {rate.exact}"
    return NOT_BY_THIS, f"{rate.exact} is too fast to count"


def _again(worked: Worked) -> list[tuple[str, str, str]]:
    again = worked.again
    found = []
    if again.next_due:
        found.append(("Next dose not before", f"{again.next_due:%H:%M}", ""))
    if again.more is not None:
        found.append(("May follow", str(again.more), "of this size" if again.more else "no more"))
    if again.at_most and again.so_far:
        of_all = f"of at most {again.at_most.to(again.so_far.unit)}"
        found.append(("So far, with this", again.told_so_far, of_all))
    return found
