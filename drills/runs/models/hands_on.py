"""Kits asked for at the open doors, and what an officer saw of each."""

import uuid
from typing import ClassVar

from django.db import models

from drills.engine.observing import AWAY, CLOSED, OPENED, RUNNING, STOPPED
from drills.engine.recipes import LOCATE, STAGE
from drills.engine.scoring import PARTLY
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.scenarios.models import Drill

# What of a sheet can be contested beside its lines.
TIME, DOORS = "time", "doors"


class SheetState(models.TextChoices):
    OPENED = OPENED, "not started"
    RUNNING = RUNNING, "running"
    STOPPED = STOPPED, "stopped"
    AWAY = AWAY, "called away"
    CLOSED = CLOSED, "closed"


class Sheet(models.Model):
    """One person's kit at the rig, whose drill asks for that kit alone; or single things,
    asked for one by one, by its `kind`.

    `in_service` and `told` are how the rig stood with dispatch and who was told. `seconds` are the
    officer's watch, and `watch` says whether it could be right; `seen` is what became of each line,
    by its number as text, `at` when that was marked, in seconds on the watch. `back` are the
    numbers of the lines back in their place. Whoever was called away has no outcome. `parts` are
    seconds of the quickest way by our own motion table: of walking, of opening and of taking.
    `voided` is what a contest took out: numbers of lines as text, the time, the wrong doors. What
    was written stays beside it. Of single things `timed` is by number: the seconds of each, whose
    watch that was, and the wrong places; `seconds` and `wrong_doors` are the sums.
    `thought` is the chance of the whole kit as it was thought before, and `thought_by` the model
    that thought it; `came_off` is whether everything was brought in time.
    `predictions` are the chances of each fact, by it as text, and `predicted_by` thought them.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    person = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="sheets")
    officer = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, related_name="sheets_kept"
    )
    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="sheets")
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="sheets")
    in_service = models.BooleanField()
    told = models.CharField(max_length=80)
    kind = models.CharField(
        max_length=10, choices=[(STAGE, "one kit"), (LOCATE, "single things")], default=STAGE
    )
    state = models.CharField(max_length=10, choices=SheetState.choices, default=SheetState.OPENED)
    opened_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    stopped_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    seconds = models.FloatField(null=True, blank=True)
    watch = models.CharField(max_length=12, blank=True)
    seen = models.JSONField(default=dict, blank=True)
    at = models.JSONField(default=dict, blank=True)
    timed = models.JSONField(default=dict, blank=True)
    wrong_doors = models.PositiveSmallIntegerField(default=0)
    comment = models.CharField(max_length=300, blank=True)
    back = models.JSONField(default=list, blank=True)
    outcome = models.CharField(max_length=20, blank=True)
    missed = models.JSONField(default=list, blank=True)
    voided = models.JSONField(default=list, blank=True)
    parts = models.JSONField(default=dict, blank=True)
    thought = models.FloatField(null=True, blank=True)
    thought_by = models.CharField(max_length=40, blank=True)
    came_off = models.BooleanField(null=True, blank=True)
    predictions = models.JSONField(default=dict, blank=True)
    predicted_by = models.CharField(max_length=40, blank=True)
    is_simulated = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["-opened_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=SheetState.values), name="sheet_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state=SheetState.CLOSED) ^ models.Q(closed_at=None),
                name="sheet_closed_has_its_time",
            ),
            models.CheckConstraint(
                condition=~models.Q(person=models.F("officer")), name="sheet_of_somebody_else"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} at {self.rig}, {self.opened_at:%F}"

    @property
    def is_of_single_things(self) -> bool:
        """Whether single things are asked for one by one, and no kit."""
        return self.kind == LOCATE

    @property
    def asked_now(self) -> int:
        """The number of the single thing that is asked for: the first nobody answered."""
        return len(self.seen)

    @property
    def is_stopped(self) -> bool:
        """Whether the watch was stopped, so that what was seen counts."""
        return self.seconds is not None

    @property
    def voided_lines(self) -> frozenset[int]:
        """The numbers of the lines that count for nothing."""
        return frozenset(int(each) for each in self.voided if each.isdecimal())

    @property
    def time_counts(self) -> bool:
        return TIME not in self.voided

    @property
    def told_outcome(self) -> str:
        """What came of it, in words."""
        what = "everything" if self.is_of_single_things else "every must-have"
        why = f"{what} was voided" if self.voided else "called away"
        words = {PARTLY: "partly right", "": f"{why}, nothing counts"}
        return words.get(self.outcome, self.outcome)

    @property
    def is_open(self) -> bool:
        return self.state != SheetState.CLOSED
