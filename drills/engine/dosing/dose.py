"""A dose: from a rule, a weight and what is aboard to a volume.

The order is that of the printed tables: weight, dose for the weight, maximum, minimum, volume,
and one rounding at the end, to the marks of the device. Sources stand beside each figure.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.concentrations import (
    Presentation,
    figures_held,
    held_by,
    holding,
    told_strength,
)
from drills.engine.devices import Device, fitting, published_marks
from drills.engine.dosing import slips
from drills.engine.dosing.drawing import Draw, diluted
from drills.engine.dosing.refusing import between_marks, marks_apart, refused
from drills.engine.dosing.results import (
    Result,
    Solution,
    is_allowed,
    made_by,
    not_lifted,
    results_of,
    set_by,
    set_inside,
    setting,
    spanned,
    told,
)
from drills.engine.dosing.rounded import is_lifted, never_up_words, rounding_step
from drills.engine.dosing.rule import Dose, DoseRule
from drills.engine.dosing.service import InService
from drills.engine.dosing.slips import Made, Slip, by_strength_otherwise
from drills.engine.dosing.weight import kg_steps, wrong_weights
from drills.engine.lines import line, span, turned
from drills.engine.quantities import (
    Quantity,
    family_of,
    half_up,
    kilograms,
    round_down,
    round_up,
)

DOSE, VOLUME, AMOUNT, TOTAL = "dose", "volume", "amount", "total"
FINER_MARKS = "Use a syringe with finer marks, or ask medical direction for another presentation."
# A tablet can be halved: common practice, no source.
HALF_A_PIECE = Fraction(1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseProblem(InService):
    """Everything a dose asks: the rule, who for, what is aboard, and what to draw it up with.

    Without a presentation the dose alone is asked. A `graduation` stands before the `devices`;
    where there is neither, the published rounding rules do. `others` are further presentations
    of the medicine that are aboard; `is_ready` says that it comes in syringes that are given as
    they are, and `per_site` is the most of it that goes into one site. With `doses` the total of
    so many is told.
    """

    kind: ClassVar[str] = "dose"

    rule: DoseRule
    weight: Quantity | None = None
    presentation: Presentation | None = None
    devices: tuple[Device, ...] = ()
    graduation: Quantity | None = None
    others: tuple[Presentation, ...] = ()
    doses: int = 1
    is_ready: bool = False
    per_site: Quantity | None = None

    @property
    def kg(self) -> Quantity | None:
        if self.weight is None or not self.rule.is_per_kg:
            return None
        return kilograms(self.weight, exactly=self.is_exact_pounds)

    def solve(self) -> Solution:
        """Work the dose out, each figure exact until the last."""
        dose = self.rule.for_weight(self.kg)
        volume = self._volume(dose) if self.presentation else None
        found, refusals = self._dose_result(dose), {}
        refusal = refused([found], "Use another presentation.", within=self.within)
        if volume and volume.rounded is None:
            draw = self._draw(volume.exact, volume.mark.amount)
            refusal = draw.refusal(self._from_others()) or between_marks(
                volume, self._ways_out(volume.exact), self.within
            )
            refusals = {VOLUME: refusal}
        return Solution(
            results=results_of(found, *([volume] if volume else []), *self._sums(dose)),
            limit=dose.limit,
            limit_high=dose.limit_high,
            steps=tuple(self._steps(dose, volume)),
            refusal=refusal,
            refusals=refusals,
        )

    def _dose_result(self, dose: Dose) -> Result:
        most, least, marks = self.rule.maximum, self.rule.minimum, self.graduation
        up = self.is_never_up
        ends = (dose.low, dose.high)
        if marks is None or marks.kind != dose.low.kind:
            return spanned(*(told(DOSE, e, most=most, least=least, never_up=up) for e in ends))
        return set_inside(
            *(set_by(DOSE, e, marks, most, least, within=self.within, never_up=up) for e in ends)
        )

    def _sums(self, dose: Dose) -> Iterator[Result]:
        """What is in a fluid that is given by volume, and what all doses come to."""
        if self._is_fluid(dose.low) and self.presentation:
            yield self._told(AMOUNT, dose, self.presentation.amount_in)
        if self.doses > 1:
            yield self._told(TOTAL, dose, lambda each: each.times(self.doses))

    def _told(self, name: str, dose: Dose, made_of: Callable[[Quantity], Quantity]) -> Result:
        """A figure that is made of the dose and that no device is set to, with what the limits of
        the dose come to in it."""
        up = self.is_never_up
        limits = (self.rule.maximum, self.rule.minimum)
        most, least = (made_of(each) if each else None for each in limits)
        ends = map(made_of, (dose.low, dose.high))
        return spanned(*(told(name, e, most=most, least=least, never_up=up) for e in ends))

    def _is_fluid(self, amount: Quantity) -> bool:
        return amount.family == family_of("mL")

    def _volume(self, dose: Dose) -> Result:
        low, high = (self._drawn_from(each) for each in (dose.low, dose.high))
        ceiling, floor = map(self._limit_drawn, (self.rule.maximum, self.rule.minimum))
        step, step_high = self.marks_at(low), self.marks_at(high)
        set_to = self._mark(low, high, step, (ceiling, floor))
        nearest = min(max(set_to, low.amount), high.amount)
        is_near = is_allowed(set_to, nearest, floor, self.within)
        is_measured = is_near and not self._draw(low, set_to).is_too_much
        highest = max(round_down(high.amount, step_high), set_to)
        return Result(
            name=VOLUME,
            exact=low,
            high=high if high != low else None,
            step=step,
            step_high=step_high,
            mark=Quantity(set_to, low.unit),
            rounded=Quantity(set_to, low.unit) if is_measured else None,
            rounded_high=Quantity(highest, low.unit) if is_measured else None,
            ceiling=ceiling,
            floor=floor,
            rounding=not_lifted(set_to, high, never_up=self.is_never_up),
        )

    def _limit_drawn(self, limit: Quantity | None) -> Quantity | None:
        return self._drawn_from(limit) if limit else None

    def _drawn_from(self, amount: Quantity, aboard: Presentation | None = None) -> Quantity:
        """The volume that holds an amount; a fluid that is given by volume is its own."""
        aboard = aboard or self.presentation
        if aboard is None or self._is_fluid(amount):
            return amount.to("mL")
        return aboard.volume_of(amount)

    def device_at(self, volume: Quantity) -> Device | None:
        """What a volume is drawn up with, of what is aboard; None where none is named."""
        if self.graduation or not self.devices or volume.unit != "mL" or not self.presentation:
            return None
        packed = self.presentation.volume.to("mL").amount
        return fitting(volume.amount, self.devices, packed=packed)

    def marks_at(self, volume: Quantity) -> Fraction:
        """How far the marks are apart where a volume is measured."""
        if self.graduation and self.graduation.kind == volume.kind:
            return self.graduation.to(volume.unit).amount
        if volume.unit != "mL":
            return HALF_A_PIECE
        device = self.device_at(volume)
        return device.marks if device else published_marks(volume.amount)

    def _mark(
        self,
        low: Quantity,
        high: Quantity,
        step: Fraction,
        limits: tuple[Quantity | None, Quantity | None],
    ) -> Fraction:
        """The first mark inside a range, else the one for the dose within the limits."""
        inside = round_up(low.amount, step)
        if low.amount < high.amount and inside <= high.amount:
            return inside
        return setting(low.amount, step, *limits, never_up=self.is_never_up)

    def _ways_out(self, volume: Quantity) -> Iterator[str]:
        aboard = self.presentation
        if aboard is None:
            return
        yield from self._from_others()
        if volume.unit == "mL":
            if not self.is_ready:
                yield from diluted(aboard.in_unit_of(self.rule.dose), self._drawn_with)
            yield FINER_MARKS
        else:
            yield "Use another presentation, or ask medical direction."

    def _from_others(self) -> Iterator[str]:
        """What else is aboard that can be drawn and given alike: no way out changes the route."""
        for other in self._others_alike:
            if drawn := self._drawn_with(other):
                strength = other.in_unit_of(self.rule.dose).strength
                yield f"Use what is aboard of {told_strength(strength)}: {drawn.answer}."

    def _draw(self, volume: Quantity, mark: Fraction) -> Draw:
        held = self.presentation.volume if self.presentation else volume
        packed = held if held.family == volume.family else volume
        device = None if self.is_ready else self.device_at(volume)
        most = self.per_site if volume.unit == "mL" else None
        step = self.marks_at(volume)
        return Draw(
            volume=volume, mark=mark, device=device, packed=packed, step=step, per_site=most
        )

    def _drawn_with(self, other: Presentation) -> Result | None:
        """The volume of another strength; None where no mark comes near that either."""
        drawn = replace(self, presentation=other)._volume(self.rule.for_weight(self.kg))
        return drawn if drawn.rounded else None

    def slips(self, asked: str) -> tuple[Made, ...]:
        """What each slip of a dose would have given, each end of a range by itself."""
        made = [
            each
            for slip, altered in self._altered(asked)
            for each in made_by(slip, altered.solve(), asked)
        ]
        return (
            *made,
            *self._dose_as_volume(asked),
            *self._by_strength(asked),
            *self._each_and_total(asked),
        )

    def without_limits(self) -> "DoseProblem":
        """The same where the limits are forgotten."""
        return replace(self, rule=replace(self.rule, maximum=None, minimum=None))

    def _altered(self, asked: str) -> Iterator[tuple[Slip, "DoseProblem"]]:
        rule = self.rule
        if self.weight is not None and rule.is_per_kg:
            for slip, weight in wrong_weights(self.weight):
                yield slip, replace(self, weight=weight)
            yield slips.NO_WEIGHT, replace(self, weight=Quantity(Fraction(1), "kg"))
        if rule.maximum:
            yield slips.NO_MAXIMUM, replace(self, rule=replace(rule, maximum=None))
        if rule.minimum:
            yield slips.NO_MINIMUM, replace(self, rule=replace(rule, minimum=None))
        if asked == VOLUME:
            for other in self._others_alike:
                yield slips.OTHER_PRESENTATION, replace(self, presentation=other)

    @property
    def _others_alike(self) -> Iterator[Presentation]:
        """What else is aboard that is measured alike: nobody takes tablets for mL."""
        for other in self.others:
            if self.presentation and other.volume.family == self.presentation.volume.family:
                yield other

    def _dose_as_volume(self, asked: str) -> Iterator[Made]:
        if asked != VOLUME:
            return
        results = self.solve().results
        for dose in results[DOSE].ends:
            if dose.family != family_of("mL"):
                yield Made(slips.DOSE_AS_VOLUME, Quantity(dose.amount, results[VOLUME].exact.unit))

    def _by_strength(self, asked: str) -> Iterable[Made]:
        is_volume = asked == VOLUME and not self._is_fluid(self.rule.dose)
        if self.presentation is None or not (is_volume or asked == AMOUNT):
            return ()
        right, by = self.solve().results[asked].ends, self.presentation.strength.amount
        return by_strength_otherwise(right, by, is_volume=is_volume)

    def _each_and_total(self, asked: str) -> Iterator[Made]:
        """One dose for all of them, and the other way round."""
        if self.doses > 1:
            is_total = asked == TOTAL
            slip = slips.EACH_FOR_TOTAL if is_total else slips.TOTAL_FOR_EACH
            factor = Fraction(1, self.doses) if is_total else Fraction(self.doses)
            for value in self.solve().results[asked].ends:
                yield Made(slip, value.times(factor))

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """An amount of the medicine, told where its volume was asked for."""
        if asked != VOLUME or self.presentation is None:
            return None
        if given.kind != self.presentation.amount.kind:
            return None
        return self.presentation.volume_of(given)

    def _steps(self, dose: Dose, volume: Result | None) -> Iterator[str]:
        yield from self._dose_steps(dose)
        yield from self._sum_steps(dose)
        if volume is None or self.presentation is None:
            yield from self._told_step(self._dose_result(dose))
            return
        if not self._is_fluid(dose.low):
            yield from _drawn_steps(dose, volume, self.presentation)
        if not self._is_measured_so(dose, volume):
            yield self._mark_step(volume)

    def _is_measured_so(self, dose: Dose, volume: Result) -> bool:
        """Whether no line says how a volume is rounded: it is refused, or told by the dose or by
        whole containers already."""
        packed = self.presentation
        is_whole = packed is not None and self.graduation == packed.volume
        is_told_so = self._is_fluid(dose.low) or is_whole
        return volume.rounded is None or (is_told_so and volume.rounded == volume.exact)

    def _told_step(self, dose: Result) -> Iterator[str]:
        """The last line where the dose alone is asked."""
        marks = self.graduation
        is_set = marks is not None and marks.kind == dose.exact.kind
        by = f"By marks {marks} apart" if is_set else "Rounded"
        yield from rounding_step(dose, by)

    def _mark_step(self, volume: Result) -> str:
        draw = self._draw(volume.exact, volume.mark.amount)
        if draw.is_of_whole and not volume.is_range:
            return f"{draw.given_whole}: {volume.answer}"
        never = never_up_words(volume) if volume.rounded != volume.exact else ""
        rounding = f", {never}" if never else ""
        if is_lifted(volume):
            rounding = ", the mark below is under the minimum, so the mark above"
        marks = ", and".join(dict.fromkeys(self._marks_told(each) for each in volume.ends))
        by = f"marks{marks}"
        if volume.exact.unit != "mL":
            by = marks_apart(Quantity(volume.step, volume.exact.unit))
        return f"By {by}{rounding}: {volume.answer}"

    def _marks_told(self, volume: Quantity) -> str:
        """The marks at one end, with what has them."""
        device = self.device_at(volume)
        by = f" of {device}" if device else ""
        fills = device.fills(half_up(volume.amount, device.marks)) if device else 1
        often = f", filled {fills} times" if fills > 1 else ""
        if often and self.is_ready:
            by, often = "", ", given from its own syringes"
        return f"{by} {Quantity(self.marks_at(volume), volume.unit)} apart{often}"

    def _sum_steps(self, dose: Dose) -> Iterator[str]:
        given = span(dose.low, dose.high)
        for each in self._sums(dose):
            by = f" x {self.doses}"
            held: tuple[Quantity, ...] = ()
            if each.name == AMOUNT and self.presentation:
                by, held = holding(self.presentation), figures_held(self.presentation)
            first = span(dose.low.to("mL"), dose.high.to("mL")) if each.name == AMOUNT else given
            yield line(f"{first}{by}", each.exact, dose.low, dose.high, *held, high=each.high)

    def _dose_steps(self, dose: Dose) -> Iterable[str]:
        rule, kg = self.rule, self.kg
        if kg is None or self.weight is None:
            named = "Volume" if self._is_fluid(rule.dose) else "Fixed dose"
            yield f"{named}: {span(rule.dose, rule.dose_high)}"
            yield from rule.limit_steps(dose)
            return
        yield from kg_steps(self.weight, exactly=self.is_exact_pounds)
        high = rule.dose_high.of(kg) if rule.dose_high else None
        yield line(
            f"{kg} x {span(rule.dose, rule.dose_high)}",
            rule.dose.of(kg),
            *(kg, *rule.doses),
            high=high,
        )
        yield from rule.limit_steps(dose)


def _drawn_steps(dose: Dose, volume: Result, packed: Presentation) -> Iterator[str]:
    """From a dose to the volume that holds it, by the strength in the unit of the dose."""
    held = packed.in_unit_of(dose.low)
    if held.strength.is_cut:
        yield from turned(packed.amount, held.amount)
    else:
        yield from turned(packed.strength, held.strength)
    yield line(
        f"{span(dose.low, dose.high)}{held_by(held)}",
        volume.exact,
        *(dose.low, dose.high, *figures_held(held)),
        high=volume.high,
    )
