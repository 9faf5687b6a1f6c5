"""The working of a drip: a line for each figure found."""

from collections.abc import Iterable, Iterator

from drills.engine.concentrations import told_strength
from drills.engine.dosing.flowing import WHOLE_DROP, Flowing, in_ml_per_h
from drills.engine.dosing.pump import MOST_RATE, is_cut_short
from drills.engine.dosing.results import Result
from drills.engine.dosing.rounded import maximum_step, rounding_step
from drills.engine.dosing.weight import kg_steps
from drills.engine.lines import ends_in, line, turned
from drills.engine.quantities import MASS, Quantity


def steps_of(drip: Flowing, low: Quantity, high: Quantity, rates: list[Result]) -> Iterator[str]:
    """The lines to the rates, by the pump first and by the drops last, and to what hangs on them:
    from the low end of a range to the high one, in mL/h."""
    pump, *by_minute = rates
    before = list(_flow_steps(drip, low, pump))
    yield from before
    if drip.drip_set:
        for each in () if drip.is_by_drops else dict.fromkeys((low, high)):
            yield from _drop_steps(drip, each, before)
        yield from rounding_step(by_minute[-1], _drops_told(by_minute[-1]))
    elif not pump.is_range:
        apart = Quantity(pump.step, pump.exact.unit)
        yield from rounding_step(pump, f"By steps of the pump of {apart}")
    if drip.bag and not _is_better_by_hour(high):
        yield from _minute_steps(high, before)
    yield from _steps_of_others(drip, high)


def _flow_steps(drip: Flowing, low: Quantity, pump: Result) -> Iterator[str]:
    if drip.dose_rate is not None:
        yield from _titrated_steps(drip, drip.dose_rate, pump)
    elif drip.rate is not None:
        yield from _rate_steps(drip, drip.rate, low)
    else:
        yield from _volume_steps(drip, drip.volume, drip.over, low)


def _drops_told(drops: Result) -> str:
    """How drops are set: whole ones where nothing else is said."""
    apart = Quantity(drops.step, drops.exact.unit)
    return "Whole drops" if apart == WHOLE_DROP else f"By steps of {apart}"


def _titrated_steps(drip: Flowing, start: Quantity, pump: Result) -> Iterator[str]:
    """Of a range the start, what the pump is set in, the high end, and what is never passed."""
    high = drip.dose_rate_high
    if high is None or high == start:
        yield from _dose_steps(drip, start)
        return
    yield f"The range begins at {start}" if drip.is_capped(start) else f"Start with {start}"
    yield from _dose_steps(drip, start)
    yield f"The range goes to {high}" if drip.is_capped(high) else f"Go up to {high}"
    yield from _dose_steps(drip, high, is_high=True)
    if drip.maximum and not drip.is_capped(high):
        yield f"The maximum is {drip.maximum}: {drip.flow(drip.maximum)} at most"
    yield from _range_steps(pump)


def _range_steps(pump: Result) -> Iterator[str]:
    """How a range is set on a pump, and where the pump ends before it does."""
    if is_cut_short(pump):
        yield f"A pump is set to {MOST_RATE} at most"
    if pump.rounded:
        steps = dict.fromkeys((pump.step, pump.step_high or pump.step))
        apart = " and ".join(str(Quantity(each, pump.exact.unit)) for each in steps)
        yield f"By steps of the pump of {apart}: {pump.answer}"


def _volume_steps(
    drip: Flowing, volume: Quantity | None, over: Quantity | None, ml_h: Quantity
) -> Iterator[str]:
    """By the hour where the time is told in hours, else by the minute first."""
    if volume is None or over is None:
        return
    volume = volume.to("mL")
    if over.unit == "h":
        yield line(f"{volume} / {over}", ml_h, volume, over)
        return
    minutes = over.to("min")
    if _is_better_by_hour(ml_h):
        yield line(f"{volume} / {minutes} x 60 min/h", ml_h, volume, minutes)
        return
    yield line(f"{volume} / {minutes}", ml_h.each("min"), volume, minutes)
    yield _by_the_hour(ml_h)


def _drop_steps(drip: Flowing, ml_h: Quantity, before: list[str]) -> Iterator[str]:
    yield from _minute_steps(ml_h, before)
    a_minute, by = ml_h.each("min"), drip.drip_set
    yield line(f"{a_minute} x {by}", drip.drops(ml_h), a_minute, by)


def _steps_of_others(drip: Flowing, ml_h: Quantity) -> Iterator[str]:
    if drip.bag:
        bag, a_minute, lasts = drip.bag.to("mL"), ml_h.each("min"), drip.bag.over(ml_h)
        if _is_better_by_hour(ml_h):
            yield line(f"{bag} / {ml_h} x 60 min/h", lasts.to("min"), bag, ml_h)
        else:
            yield line(f"{bag} / {a_minute}", lasts.to("min"), bag, a_minute)
    if drip.over and not drip.volume:
        over = drip.over.to("h")
        yield line(f"{ml_h} x {over}", ml_h.of(over).to("mL"), ml_h, over)


def _rate_steps(drip: Flowing, rate: Quantity, ml_h: Quantity) -> Iterator[str]:
    if drip.is_by_drops:
        drops, by = rate.each("min"), drip.drip_set
        yield line(f"{drops} / {by}", ml_h.each("min"), drops, by)
    if rate.unit == "L/h":
        yield line(f"{rate}", ml_h, rate)
    elif rate.kind != ml_h.kind:
        yield _by_the_hour(ml_h)
    if drip.strength is not None:
        yield from _running_steps(drip, drip.strength, ml_h)


def _running_steps(drip: Flowing, strength: Quantity, ml_h: Quantity) -> Iterator[str]:
    """The dose that a rate brings in, by the minute, and by the kg where there is a weight."""
    an_hour = strength.of(ml_h)
    a_minute = an_hour.each("min")
    yield line(f"{ml_h} x {told_strength(strength)}", an_hour, ml_h, strength)
    yield line(f"{an_hour} / 60 min/h", a_minute, an_hour)
    if a_minute.family == MASS and a_minute.unit != "mcg/min":
        told, a_minute = a_minute, a_minute.to("mcg/min")
        yield line(f"{told}", a_minute, told)
    if drip.kg:
        yield from kg_steps(drip.weight or drip.kg, exactly=drip.is_exact_pounds)
        yield line(f"{a_minute} / {drip.kg}", a_minute.over(drip.kg), a_minute, drip.kg)


def _dose_steps(drip: Flowing, dose_rate: Quantity, *, is_high: bool = False) -> Iterator[str]:
    """From a dose rate to the flow; of the high end of a range the maximum is told in words of its
    own, since a line that was told is not told again."""
    meant = drip.limited(dose_rate)
    if drip.weight is not None and drip.kg is not None and "kg" in dose_rate.per:
        yield from kg_steps(drip.weight, exactly=drip.is_exact_pounds)
        yield line(f"{drip.kg} x {dose_rate}", dose_rate.of(drip.kg), drip.kg, dose_rate)
    if drip.is_capped(dose_rate):
        yield maximum_step(drip.maximum, meant, is_high=is_high)
    flow = meant
    if drip.strength is not None:
        # In the unit that the dose is told in.
        own = drip.strength.to("/".join((meant.unit.partition("/")[0], *drip.strength.per)))
        yield from turned(drip.strength, own)
        flow = meant.over(own)
        yield line(f"{meant} / {told_strength(own)}", flow, meant, own)
    if flow.kind != in_ml_per_h(flow).kind:
        yield line(f"{flow} x 60 min/h", in_ml_per_h(flow), flow)


def _by_the_hour(ml_h: Quantity) -> str:
    """The line from the minute to the hour."""
    a_minute = ml_h.each("min")
    return line(f"{a_minute} x 60 min/h", ml_h, a_minute)


def _minute_steps(ml_h: Quantity, before: Iterable[str]) -> Iterator[str]:
    """The line from the hour to the minute; none where a line before has the rate by the minute."""
    if not any(ends_in(each, ml_h.each("min")) for each in before):
        yield a_minute_step(ml_h)


def a_minute_step(ml_h: Quantity) -> str:
    """The line from the hour to the minute."""
    return line(f"{ml_h} / 60 min/h", ml_h.each("min"), ml_h)


def _is_better_by_hour(ml_h: Quantity) -> bool:
    """Whether the rate by the minute has figures that would be cut, and that by the hour none."""
    return ml_h.each("min").is_cut and not ml_h.is_cut
