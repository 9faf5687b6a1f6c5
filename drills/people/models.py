"""Persons and what is true of one person."""

from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar, NoReturn

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.utils import timezone

# It stands in addresses, so it holds nothing that an address would read as its own.
plain_number = RegexValidator(
    r"^[A-Za-z0-9][A-Za-z0-9._-]{0,19}\Z",
    "%(value)r is no employee number; it takes 1 to 20 of the letters A to Z, digits, hyphen, dot "
    "and underscore, the first a letter or a digit.",
)


class Role(models.TextChoices):
    """What a person does in the service; one person may hold several."""

    CREW = "crew", "crew member"
    FTO = "fto", "field training officer"
    EDUCATOR = "educator", "educator"
    KEEPER = "keeper", "layout keeper"
    DIRECTOR = "director", "medical director"
    ADMIN = "admin", "administrator"


class CertificationLevel(models.Model):
    """What a person may do, in the agency's own list; a higher rank includes the lower ones."""

    key = models.SlugField(unique=True)
    name = models.CharField(max_length=60)
    rank = models.PositiveSmallIntegerField(unique=True)

    class Meta:
        ordering: ClassVar = ["rank"]

    def __str__(self) -> str:
        return self.name


class Cohort(models.Model):
    """People who learn together, such as one intake."""

    slug = models.SlugField(unique=True)
    name = models.CharField(max_length=80)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class PersonManager(BaseUserManager["Person"]):
    """Makes persons; the employee number is the name to sign in with."""

    def create_user(
        self, employee_number: str, name: str, password: str | None = None, **fields: Any
    ) -> "Person":
        plain_number(employee_number)
        person = self.model(employee_number=employee_number, name=name, **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(employee_number=username)


class Person(AbstractBaseUser):
    """One who signs in.

    `assessed_prompt_until` is written by runs while an assessed prompt is served and not voided:
    search, contents and shading are closed to the person then. It lapses by itself, so that a
    prompt that was left alone closes nothing for ever. `scan_prompt_until` is written alike while
    a prompt waits for the scan of a label: labels tell them nothing then.
    """

    employee_number = models.CharField(max_length=20, unique=True, validators=[plain_number])
    name = models.CharField(max_length=120)
    certification = models.ForeignKey(
        CertificationLevel, on_delete=models.PROTECT, null=True, blank=True, related_name="persons"
    )
    cohorts = models.ManyToManyField(Cohort, blank=True, related_name="members")
    time_allowance = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        default=Decimal("1.00"),
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(10))],
        help_text="Limits are multiplied by this: 1 is none, 1.5 is half as much again.",
    )
    assessed_prompt_until = models.DateTimeField(null=True, blank=True)
    scan_prompt_until = models.DateTimeField(null=True, blank=True)
    is_active = models.BooleanField(default=True)
    left_at = models.DateTimeField(null=True, blank=True)
    is_demo = models.BooleanField(default=False)

    objects: ClassVar[PersonManager] = PersonManager()

    USERNAME_FIELD = "employee_number"
    REQUIRED_FIELDS: ClassVar = ["name"]

    class Meta:
        ordering: ClassVar = ["name", "employee_number"]

    def __str__(self) -> str:
        return self.name

    @property
    def roles(self) -> frozenset[str]:
        """The roles held, read once for each loaded person."""
        if "_roles" not in self.__dict__:
            self.__dict__["_roles"] = frozenset(grant.role for grant in self.grants.all())
        found: frozenset[str] = self.__dict__["_roles"]
        return found

    def forget_roles(self) -> None:
        """Read the roles anew when next asked, since they were changed."""
        self.__dict__.pop("_roles", None)

    def holds(self, *roles: str) -> bool:
        """Whether the person holds any of the roles."""
        return bool(self.roles & set(roles))

    @property
    def has_assessed_prompt(self) -> bool:
        """Whether an assessed prompt of theirs is open now."""
        return self.has_assessed_prompt_at(timezone.now())

    def has_assessed_prompt_at(self, now: datetime) -> bool:
        """Whether an assessed prompt of theirs is open at a moment."""
        return self.assessed_prompt_until is not None and now < self.assessed_prompt_until

    def has_scan_prompt_at(self, now: datetime) -> bool:
        """Whether a prompt of theirs waits for the scan of a label."""
        return self.scan_prompt_until is not None and now < self.scan_prompt_until

    @property
    def has_password(self) -> bool:
        """Whether they chose a password; without one a one-time code lets them in."""
        return self.has_usable_password()

    @property
    def short_name(self) -> str:
        """Initial and last name, for title blocks."""
        first, _, last = self.name.rpartition(" ")
        return f"{first[0]}. {last}" if first else last


class SignInCode(models.Model):
    """A one-time code by which a person chooses their own password; kept as a hash alone."""

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="code")
    hashed = models.CharField(max_length=128)
    lapses_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"code of {self.person}, until {self.lapses_at:%Y-%m-%d}"


class PersonalCode(models.Model):
    """A few digits by which a person takes over a shared screen where somebody is signed in; kept
    as a hash alone. `failures` are the wrong ones since the last right one."""

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="personal_code")
    hashed = models.CharField(max_length=128)
    failures = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return f"personal code of {self.person}"


class SignInTry(models.Model):
    """How signing in went for one number from one place: what slows guessing down.

    Number and place (an address, or a browser that was let in before) are keyed hashes, so that
    the table tells nobody who tried what from where. `free_at` is when the next try is looked at.
    """

    number = models.CharField(max_length=64)
    place = models.CharField(max_length=64, db_index=True)
    failures = models.PositiveIntegerField(default=0)
    failed_at = models.DateTimeField(null=True, blank=True)
    free_at = models.DateTimeField(null=True, blank=True)
    let_in_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["number", "place"], name="one_row_of_tries_per_pair")
        ]

    def __str__(self) -> str:
        return f"{self.failures} failed"


class RoleGrant(models.Model):
    """One role of one person."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="grants")
    role = models.CharField(max_length=10, choices=Role.choices)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "role"], name="one_grant_per_role")
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.role}"


class PairingQuerySet(models.QuerySet["Pairing"]):
    def running(self, at: datetime) -> "PairingQuerySet":
        """Pairings that have begun and not ended."""
        return self.filter(starts_at__lte=at).exclude(ends_at__lte=at)


class Pairing(models.Model):
    """An FTO and the crew member paired with them, for a time."""

    fto = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="trainees")
    crew = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="trainers")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True, blank=True)

    objects = PairingQuerySet.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~models.Q(fto=models.F("crew")), name="pairing_of_two_persons"
            )
        ]

    def __str__(self) -> str:
        return f"{self.fto} with {self.crew}"


class AuditIsKeptError(TypeError):
    """Raised when a line of the audit would be changed or removed."""

    def __init__(self) -> None:
        super().__init__("A line of the audit is written once; it is never changed or removed.")


class AuditQuerySet(models.QuerySet["AuditEntry"]):
    def update(self, **fields: Any) -> NoReturn:
        raise AuditIsKeptError

    def bulk_update(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise AuditIsKeptError

    def delete(self) -> NoReturn:
        raise AuditIsKeptError


class AuditEntry(models.Model):
    """Who did what, when, and what it was before and after. Never changed, never removed.

    `subject` is text, since it may name a row of any room. A person who is erased leaves their
    lines without an actor, and `records.unname_audit` takes their name out of the words: these
    are the two changes there are.
    """

    at = models.DateTimeField(db_index=True)
    actor = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="acts"
    )
    action = models.CharField(max_length=40)
    subject = models.CharField(max_length=160)
    before = models.JSONField(null=True, blank=True)
    after = models.JSONField(null=True, blank=True)

    objects = AuditQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.action} {self.subject}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding or self.pk is not None:
            raise AuditIsKeptError
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise AuditIsKeptError
