"""Prompts that are worked out: of the patients of a call, or on their own."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from random import Random

from drills.engine.calls import Call, CallType, Patient
from drills.engine.chance import mixed
from drills.engine.exercises.dose import of_rule, rules_aboard
from drills.engine.exercises.exercise import Exercise
from drills.engine.exercises.oxygen import TOPIC as OXYGEN
from drills.engine.exercises.people import kg_of
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import GRADES, TOPICS, write
from drills.engine.generation import FOCUS
from drills.engine.lately import digest
from drills.engine.medicines import MedicineRule, fits, is_any_for
from drills.engine.prompts import Prompt
from drills.engine.recipes import SUPPLY, CannotApplyError

# So often it is tried anew where an exercise was asked in this drill already: ours.
_ANEW = 20


@dataclass(slots=True)
class Works:
    """The exercises of one drill: what has been asked is not asked again.

    `known` are marks of `lately`: such a one is asked where no other comes up.
    """

    stores: Stores
    grade: int
    random: Random
    asked: set[tuple[str, str, str]] = field(default_factory=set)
    codes: set[str] = field(default_factory=set)
    known: frozenset[str] = frozenset()

    def are_most_dosed(self, call_type: CallType) -> bool:
        """Whether a rule whose medicine is aboard is for at least half of the problems that a call
        type may bring, each of its severities apart."""
        rules, troubles = rules_aboard(self.stores), call_type.troubles
        dosed = sum(is_any_for(rules, [each]) for each in troubles)
        return 2 * dosed >= len(troubles)

    def doses_of(
        self, call: Call, own: Collection[int], *, is_strict: bool = True
    ) -> Iterator[Prompt]:
        """Doses for those patients of a call by number, from what is aboard, first by rules not
        asked yet.

        Unless it is strict what makes none of the grade of the drill is asked at another one.
        """
        aboard = rules_aboard(self.stores)
        patients = [each for each in call.patients if each.number in own]
        pairs = [(patient, rule) for patient in patients for rule in _fitting(patient, aboard)]
        pairs = sorted(mixed(pairs, self.random), key=self._was_asked)
        others = sorted(set(GRADES) - {self.grade}, key=lambda each: abs(each - self.grade))
        for grade in (self.grade, *([] if is_strict else others)):
            for patient, rule in list(pairs):
                stores = replace(self.stores, call=call, patient=patient)
                made = self._new(partial(of_rule, grade, stores, rule, self.random))
                if made:
                    pairs.remove((patient, rule))
                    self.codes.add(rule.code)
                    yield prompt_of(made, call, patient)

    def _was_asked(self, pair: tuple[Patient, MedicineRule]) -> bool:
        return pair[1].code in self.codes

    def supplies_of(self, call: Call, treated: Collection[int]) -> Iterator[Prompt]:
        """What a call asks of the supply: what rules say of those patients who are treated, by
        number, then the oxygen that they share."""
        others = [rule for rule in self.stores.rules if rule.topic in TOPICS[SUPPLY]]
        patients = tuple(each for each in call.patients if each.number in treated)
        for patient in patients:
            stores = replace(self.stores, call=call, patient=patient)
            for topic in dict.fromkeys(rule.topic for rule in _fitting(patient, others)):
                made = self._new(partial(write, topic, self.grade, stores, self.random))
                if made:
                    yield prompt_of(made, call, patient)
        oxygen = self.lasting(call, treated)
        if oxygen:
            yield oxygen

    def lasting(self, call: Call, numbers: Collection[int]) -> Prompt | None:
        """How long the oxygen lasts with those patients of a call on it, by number; None without
        any."""
        on_it = tuple(each for each in call.patients if each.number in numbers)
        if not on_it:
            return None
        stores = replace(self.stores, call=replace(call, patients=on_it))
        made = self._new(partial(write, OXYGEN.name, self.grade, stores, self.random))
        return prompt_of(made, call) if made else None

    def alone(self, topics: Collection[str], count: int) -> list[Prompt]:
        """So many on their own, the topics in turns; `CannotApplyError` where none of them can."""
        found: list[Prompt] = []
        reasons: dict[str, str] = {}
        while len(found) < count and len(reasons) < len(topics):
            for topic in mixed([each for each in topics if each not in reasons], self.random):
                made = self._fresh(topic, reasons)
                found += [prompt_of(made)] if made and len(found) < count else []
        if len(found) < count:
            raise CannotApplyError(" ".join(reasons.values()))
        return found

    def _fresh(self, topic: str, reasons: dict[str, str]) -> Exercise | None:
        """One of a topic that was not asked yet; else the reason is noted."""
        try:
            return self._unasked(partial(write, topic, self.grade, self.stores, self.random))
        except CannotApplyError as error:
            reasons[topic] = str(error)
        return None

    def _new(self, make: Callable[[], Exercise]) -> Exercise | None:
        """What is made and was not asked yet, where there is such."""
        try:
            return self._unasked(make)
        except CannotApplyError:
            return None

    def _unasked(self, make: Callable[[], Exercise]) -> Exercise:
        last: Exercise | None = None
        lately: Exercise | None = None
        for _ in range(_ANEW):
            made = make()
            if made.figures not in self.asked:
                if digest(made.figures) not in self.known:
                    return self._note(made)
                lately = lately or made
            if made == last:  # a dose that is fixed comes out the same whoever draws
                break
            last = made
        if lately:
            return self._note(lately)
        raise CannotApplyError(f"Every exercise of {made.topic} that comes up was asked already.")

    def _note(self, made: Exercise) -> Exercise:
        self.asked.add(made.figures)
        return made


def _fitting(patient: Patient, rules: Collection[MedicineRule]) -> list[MedicineRule]:
    """The rules for a patient of a call."""
    kg = kg_of(patient)
    return [
        rule for rule in rules if fits(rule, patient.problem, patient.severity, patient.age_y, kg)
    ]


def prompt_of(
    exercise: Exercise, call: Call | None = None, patient: Patient | None = None
) -> Prompt:
    """An exercise as a prompt; the patient has the weight that the exercise tells."""
    if patient is not None and exercise.weight:
        patient = replace(patient, weight=exercise.weight)
    return Prompt(
        kind=exercise.kind,
        subject=exercise.subject,
        name=exercise.question,
        text="",
        chosen=FOCUS,
        exercise=exercise,
        call=call,
        patient=patient,
    )
