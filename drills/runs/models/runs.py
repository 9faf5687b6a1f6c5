"""Runs, and each prompt as it was presented and answered."""

import hmac
import secrets
import uuid
from datetime import datetime, timedelta
from typing import ClassVar

from django.db import models
from django.utils import timezone

from drills.engine.dosing import OUT_OF_TOLERANCE
from drills.engine.moves import LAPSED, LAPSES_AFTER, OVER, UNDER_WAY, word
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models.assignments import Assigned
from drills.scenarios.models import Drill, DrillPrompt, Mode

LEFT_ALONE_AFTER = timedelta(minutes=10)
TOKEN_BYTES = 16
# Of a run: all else stands from its start.
CHANGING = (
    *("state", "finished_at", "is_timed", "by_scan"),
    *("person_id", "rig_id", "assigned_id"),
)


def new_token() -> str:
    """A random token, unique for ever."""
    return secrets.token_hex(TOKEN_BYTES)


class RunState(models.TextChoices):
    OPEN = "open", "open"
    AWAY = "away", "called away"
    RESUMED = "resumed", "resumed"
    FINISHED = "finished", "finished"
    WITHDRAWN = "withdrawn", "withdrawn"


class RunQuerySet(models.QuerySet["Run"]):
    def under_way(self, now: datetime) -> "RunQuerySet":
        """Those that can be gone on with."""
        return self.filter(state__in=UNDER_WAY, started_at__gte=now - LAPSES_AFTER)

    def that_tell(self, person: Person) -> "RunQuerySet":
        """Those of a person but what was taken back before anything was answered."""
        answered = models.Q(presentations__state=PresentationState.ANSWERED)
        taken_back = self.filter(state=RunState.WITHDRAWN).exclude(answered)
        return self.filter(person=person).exclude(pk__in=taken_back.values("pk"))


class Run(models.Model):
    """One person's go at a drill. `secret` makes the answer tokens of this run.

    `state` is what the last move left; that a run lapsed is worked out from when it was started.
    One taken `by_scan` is answered with the labels of the rig, and with nothing else.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    person = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="runs")
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="runs")
    rig = models.ForeignKey(Rig, on_delete=models.SET_NULL, null=True, related_name="runs")
    assigned = models.ForeignKey(
        Assigned, on_delete=models.SET_NULL, null=True, blank=True, related_name="runs"
    )
    mode = models.CharField(max_length=10, choices=Mode.choices)
    state = models.CharField(max_length=10, choices=RunState.choices, default=RunState.OPEN)
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    is_timed = models.BooleanField(default=True)
    by_scan = models.BooleanField(default=False)
    allowance = models.FloatField(default=1.0)
    secret = models.CharField(max_length=32, default=new_token, editable=False)
    is_simulated = models.BooleanField(default=False)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-started_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=RunState.values), name="run_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(by_scan=False) | models.Q(is_timed=False, mode=Mode.PRACTICE),
                name="run_by_scan_is_untimed_practice",
            ),
            models.CheckConstraint(
                condition=models.Q(state=RunState.FINISHED) ^ models.Q(finished_at=None),
                name="run_finished_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.drill}"

    @property
    def is_practice(self) -> bool:
        return self.mode == Mode.PRACTICE

    def read_again(self, *, locked: bool = False) -> "Run":
        """This run with what a move or an erasing may have changed meanwhile.

        When `locked`, it is nobody else's to move until the transaction ends.
        """
        rows = Run.objects.select_for_update() if locked else Run.objects
        return self.take_over(rows.only(*CHANGING).get(pk=self.pk))

    def take_over(self, read: "Run") -> "Run":
        """This run with what a move or an erasing may have changed until it was read again."""
        for name in CHANGING:
            setattr(self, name, getattr(read, name))
        return self

    def state_at(self, now: datetime) -> str:
        """The state in the words of the table of moves."""
        has_lapsed = self.state in UNDER_WAY and self.started_at < now - LAPSES_AFTER
        return LAPSED if has_lapsed else self.state

    @property
    def told_state(self) -> str:
        """The state at present, as people read it."""
        return word(self.state_at(timezone.now()))

    @property
    def is_over(self) -> bool:
        """Whether nothing more of it is asked."""
        return self.state_at(timezone.now()) in OVER

    def token_for(self, key: str) -> str:
        """What stands in the page for a place or a thing: random per run, and not to be undone."""
        return hmac.digest(self.secret.encode(), key.encode(), "sha256").hex()[:20]


class PresentationState(models.TextChoices):
    OPEN = "open", "open"
    ANSWERED = "answered", "answered"
    VOID = "void", "void"


class VoidReason(models.TextChoices):
    CALLED_AWAY = "called away", "called away"
    NOT_IN_PLACE = "not in place", "not where the layout says"
    LEFT = "left", "left open"
    CONTESTED = "contested", "voided after a contest"
    WITHDRAWN = "withdrawn", "withdrawn"


class Presentation(models.Model):
    """One presentation of one prompt; without a prompt it is a warm-up tap on `subject`.

    Seconds are kept as four values: served, received, the browser's claim and its hidden time;
    `seconds` is what counts; `marks` are of 100. `baseline_seconds` is what tapping costs the
    person on the device it was served to. `predictions` are the chances thought when served, by
    fact as text. `taken_order` are the places of a kit in the order they were taken from, as codes,
    empty where that is not known; it is never marked. `above` is the certification level a dose
    takes, where it was above the person's when they answered.
    """

    run = models.ForeignKey(Run, on_delete=models.CASCADE, related_name="presentations")
    prompt = models.ForeignKey(
        DrillPrompt, on_delete=models.PROTECT, null=True, related_name="presentations"
    )
    order = models.PositiveIntegerField()
    token = models.CharField(max_length=32, unique=True, default=new_token, editable=False)
    subject = models.CharField(max_length=360, blank=True)
    is_retry = models.BooleanField(default=False)
    state = models.CharField(
        max_length=10, choices=PresentationState.choices, default=PresentationState.OPEN
    )
    void_reason = models.CharField(max_length=20, choices=VoidReason.choices, blank=True)
    limit_seconds = models.FloatField(null=True, blank=True)
    cut_off_seconds = models.FloatField(null=True, blank=True)
    device_class = models.CharField(max_length=10, blank=True)
    baseline_seconds = models.FloatField(null=True, blank=True)
    predictions = models.JSONField(default=dict, blank=True)
    predicted_by = models.CharField(max_length=40, blank=True)

    served_at = models.DateTimeField()
    received_at = models.DateTimeField(null=True, blank=True)
    server_seconds = models.FloatField(null=True, blank=True)
    client_elapsed = models.FloatField(null=True, blank=True)
    client_gap = models.FloatField(null=True, blank=True)
    client_hidden = models.FloatField(null=True, blank=True)
    seconds = models.FloatField(null=True, blank=True)
    time_state = models.CharField(max_length=12, blank=True)
    time_verdict = models.CharField(max_length=10, blank=True)

    answer = models.JSONField(default=list, blank=True)
    taken_order = models.JSONField(default=list, blank=True)
    outcome = models.CharField(max_length=20, blank=True)
    marks = models.PositiveSmallIntegerField(null=True, blank=True)
    near = models.CharField(max_length=12, blank=True)
    place = models.CharField(max_length=40, blank=True)
    depth_reached = models.CharField(max_length=10, blank=True)
    missed = models.JSONField(default=list, blank=True)
    not_there = models.JSONField(default=list, blank=True)
    above = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering: ClassVar = ["run", "order"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run", "order"], name="one_presentation_per_order"),
            models.UniqueConstraint(
                fields=["run"], condition=models.Q(state="open"), name="one_open_prompt_per_run"
            ),
            models.CheckConstraint(
                condition=models.Q(state=PresentationState.OPEN)
                | models.Q(state=PresentationState.ANSWERED, received_at__isnull=False)
                | (models.Q(state=PresentationState.VOID) & ~models.Q(void_reason="")),
                name="presentation_state_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order}. {self.prompt or self.subject}"

    @property
    def sign(self) -> str:
        """Which of the three marks stands beside the outcome; doses have words of their own.

        Out of tolerance takes half the marks, as what is partly right does.
        """
        signs = {RIGHT: RIGHT, PARTLY: PARTLY, OUT_OF_TOLERANCE: PARTLY}
        return signs.get(self.outcome, WRONG)

    @property
    def is_warm_up(self) -> bool:
        return self.prompt_id is None

    def is_left_alone(self, now: datetime) -> bool:
        """Whether it has been open so long that nobody is looking at it."""
        is_open = self.state == PresentationState.OPEN
        return is_open and now - self.served_at > LEFT_ALONE_AFTER


class TappingBaseline(models.Model):
    """What tapping a place costs a person on a kind of device, in seconds."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="baselines")
    device_class = models.CharField(max_length=10, blank=True)
    seconds = models.FloatField()
    measured_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person", "device_class"], name="one_baseline_per_device_class"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.device_class}: {self.seconds:.1f} s"
