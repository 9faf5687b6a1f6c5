"""Plays one seeded drill in the terminal, through the same actions as everybody's.

Played again it takes the place of the one played before: the hire's record does not grow by it.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.boards.hire import current_misses, words_of
from drills.competency.reports import knowledge_of
from drills.demo.service import HIRE_UNIT, SIGN_INS
from drills.demo.simulation import Character, take_back, take_drill
from drills.engine.dosing.verdicts import UNSAFE
from drills.engine.facts import facts_of
from drills.engine.scoring import PARTLY, RIGHT
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.own import layout_on
from drills.runs.models import Presentation
from drills.runs.told import tell
from drills.scenarios.models import Recipe
from drills.scenarios.reading import layout_asked

PLAYED, SEED = "multi-patient-first", 412
KNOWS = 0.6
MISSES_SHOWN = 5


class Command(BaseCommand):
    help = "Play one drill of the demonstration's new hire, answers included."

    def handle(self, *args: Any, **options: Any) -> None:
        person = Person.objects.filter(
            employee_number=SIGN_INS[0].employee_number, is_demo=True
        ).first()
        rig = Rig.objects.filter(unit=HIRE_UNIT).select_related("revision").first()
        if person is None or rig is None:
            raise CommandError("No demonstration service here; run seed_demo first.")
        recipe, now = Recipe.objects.get(slug=PLAYED), timezone.now()
        take_back(person, drill_seed=SEED)
        self.stdout.write(
            f"\n{person.name}, {rig}, {rig.revision}: {recipe.name}. "
            "A simulated person answers; seconds are simulated too."
        )
        run = take_drill(
            person, rig, recipe, Character(SEED, KNOWS), at=now, watch=self._show, drill_seed=SEED
        )
        first = run.presentations.filter(is_retry=False).exclude(outcome="")
        outcomes = list(first.values_list("outcome", flat=True))
        right, partly, unsafe = map(outcomes.count, (RIGHT, PARTLY, UNSAFE))
        wrong = f"{len(outcomes) - right - partly} wrong"
        wrong += f", {unsafe} of them unsafe" if unsafe else ""
        self.stdout.write(f"Debrief: {right} right, {partly} partly right, {wrong}.")
        known = knowledge_of(person, layout=rig.layout, now=timezone.now())
        layout = layout_on(rig)
        facts = facts_of(layout)
        missed = current_misses(known, facts)
        asked = sum(1 for fact in facts if fact in known.observations)
        self.stdout.write(f"\nAsked so far: {asked} of {len(facts)} facts of this rig.")
        self.stdout.write(f"Still not known: {len(missed)}, newest miss first:")
        for words in words_of(layout, missed[:MISSES_SHOWN]):
            self.stdout.write(f"  {words}")

    def _show(self, presentation: Presentation) -> None:
        layout = layout_asked(presentation.run.drill)
        prompt = presentation.prompt
        if prompt is None:
            self.stdout.write(f"\n  warm-up: tap {layout.path(presentation.subject)}")
            self.stdout.write(f"     tapped after {presentation.seconds:.1f} s")
            return
        again = " (asked again)" if presentation.is_retry else ""
        self._show_call(prompt.shown)
        stop = "" if prompt.name.endswith(("?", ".")) else "."
        self.stdout.write(f"  {prompt.name}{stop} {prompt.text}{again}")
        told = tell(presentation, layout)
        self.stdout.write(f"     said: {'; '.join(told.said) or 'I do not know'}")
        self.stdout.write(
            f"     {presentation.seconds:.1f} s, {presentation.time_verdict}. "
            f"{told.sentence(presentation.outcome)}"
        )

    def _show_call(self, shown: dict[str, Any]) -> None:
        """The call of a prompt that comes from one, and the figures of a dose."""
        self.stdout.write("")
        if not shown:
            return
        self.stdout.write(f"  {shown['dispatch']}")
        for patient in shown["patients"]:
            signs = ", ".join(patient["signs"])
            self.stdout.write(
                f"    {patient['number']}. {patient['who']}: {patient['findings']}. {signs}"
            )
        if "medicine" in shown:
            asked = f"{shown['indication']}; {shown['medicine']}, {shown['route']}"
            self.stdout.write(f"    {asked}: {shown.get('rule', 'from memory')}")
            self.stdout.write(f"    Weight {shown['weight']}; aboard {shown['presentation']}.")
            self.stdout.write(f"    {shown['notice']}")
