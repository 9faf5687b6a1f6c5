"""Looks a service over: each finding says what, how it is, and what to do about it."""

import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.db import connection, models
from django.utils.timezone import localtime

from drills.competency.expecting import comes_with_the_next_refit
from drills.competency.quality import newest_fit
from drills.competency.reports import has_evidence
from drills.formulary.models import FormularyRevision, FormularyState, Medicine
from drills.people.models import AuditEntry, CertificationLevel, Person, Role
from drills.people.reports import waiting_for_slips
from drills.people.tables import of_another_release, out_of_reach
from drills.rigs.models import Absence, Need, Revision, RevisionState, Rig
from drills.rigs.ties import confirmed_ties, terms_of, worded_needs
from drills.runs.models import Presentation
from drills.scenarios.models import CallType, Recipe

FINE, LOOK, WRONG = "fine", "look", "wrong"
REFERENCE = (Need, CallType, Recipe, CertificationLevel, Medicine)
REPORTS_WAIT = timedelta(days=14)
# One night may fail; after a second one somebody should look.
FIT_LASTS = timedelta(days=2)
LEAST_FREE, LITTLE_FREE = 500 * 2**20, 2 * 2**30
CLOCK_SLACK = timedelta(seconds=60)
# Ours and any other that comes with an example.
KEYS_OF_NOBODY = ("development-only-", "django-insecure-")
LOCAL_NAMES = {"localhost", "127.0.0.1", "*"}
MUST = "must"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at: its state is fine, look or wrong; when fine there is nothing to do."""

    what: str
    state: str
    words: str
    to_do: str = ""


Look = Callable[[datetime], Finding]


def look_over(*, now: datetime) -> list[Finding]:
    """Every finding; tables are looked into only where they are as this release has them."""
    found = [look(now) for look in (_debug, _key, _hosts, _https, _static, _disk)]
    reached = _database(now)
    found.append(reached)
    if reached.state == WRONG:
        return found
    whole = _migrations(now)
    found += [whole, _engine(now)]
    if whole.state == FINE:
        found += [look(now) for look in _TABLES]
    return [*found, _backup(now)]


def _debug(_: datetime) -> Finding:
    if settings.DEBUG:
        return Finding("debug", WRONG, "DJANGO_DEBUG is 1.", "Unset it on a service.")
    return Finding("debug", FINE, "Off.")


def _key(_: datetime) -> Finding:
    if settings.SECRET_KEY.startswith(KEYS_OF_NOBODY):
        return Finding(
            "secret key", WRONG, "It is one that anybody can read.", "Set SECRET_KEY to your own."
        )
    return Finding("secret key", FINE, f"One of its own, {len(settings.SECRET_KEY)} characters.")


def _hosts(_: datetime) -> Finding:
    names = [name for name in settings.ALLOWED_HOSTS if name not in LOCAL_NAMES]
    if not names:
        return Finding(
            "names", LOOK, "It answers to this machine alone.", "Set HOST to the name people use."
        )
    return Finding("names", FINE, f"It answers to {', '.join(names)}.")


def _https(_: datetime) -> Finding:
    if not (settings.SECURE_SSL_REDIRECT and settings.SESSION_COOKIE_SECURE):
        return Finding("HTTPS", WRONG, "It is not asked for.", "Unset DJANGO_DEBUG on a service.")
    return Finding("HTTPS", FINE, "Asked for; the web server in front must speak it.")


def _static(_: datetime) -> Finding:
    if settings.DEBUG:
        return Finding("static files", FINE, "Served from where they are, as debug is on.")
    names = _static_names()
    stale = sum(not _is_collected(name) for name in names)
    if stale:
        return Finding(
            "static files",
            WRONG,
            f"{stale} of {len(names)} are missing or of another release.",
            "Run manage.py collectstatic --no-input and start the service anew.",
        )
    return Finding("static files", FINE, f"All {len(names)} are collected.")


def _static_names() -> list[str]:
    found = (each.list([]) for each in finders.get_finders())
    return sorted({name for names in found for name, _ in names})


def _is_collected(name: str) -> bool:
    source = finders.find(name)
    if source is None or not staticfiles_storage.exists(name):
        return False
    with staticfiles_storage.open(name) as collected:
        same: bool = collected.read() == Path(source).read_bytes()
    return same


def _disk(_: datetime) -> Finding:
    name = connection.settings_dict["NAME"]
    is_file = connection.vendor == "sqlite" and Path(name).parent.is_dir()
    folder = Path(name).parent if is_file else Path(settings.BASE_DIR)
    free = shutil.disk_usage(folder).free
    words = f"{free / 2**30:.1f} GB free in {folder}."
    if free < LITTLE_FREE:
        return Finding("disk", WRONG if free < LEAST_FREE else LOOK, words, "Make room.")
    return Finding("disk", FINE, words)


def _database(_: datetime) -> Finding:
    if fault := out_of_reach():
        return Finding("database", WRONG, fault.words, fault.to_do)
    name = connection.settings_dict["NAME"]
    return Finding("database", FINE, f"{connection.display_name}, {name}.")


def _migrations(_: datetime) -> Finding:
    if fault := of_another_release():
        return Finding("tables", WRONG, fault.words, fault.to_do)
    return Finding("tables", FINE, "Every migration of this release is applied.")


def _engine(_: datetime) -> Finding:
    if connection.vendor != "sqlite":
        return Finding("storage", FINE, f"{connection.display_name} looks after itself.")
    journal, check = _asked("PRAGMA journal_mode"), _asked("PRAGMA integrity_check")
    words = f"SQLite {sqlite3.sqlite_version}, journal {journal}."
    if check == "ok" and (torn := _asked("PRAGMA foreign_key_check")):
        check = f"a row of {torn} names another that is not there"
    if check != "ok":
        return Finding(
            "storage",
            WRONG,
            f"{words} The file is damaged: {check}.",
            "Stop the service, keep the file, and restore the last backup into a new one.",
        )
    return Finding("storage", FINE, f"{words} Its own check finds the file whole.")


def _asked(statement: str) -> str:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        row = cursor.fetchone()
    return str(row[0]) if row else ""


def _reference(_: datetime) -> Finding:
    counts = [(kind._meta.verbose_name_plural, kind._base_manager.count()) for kind in REFERENCE]
    words = ", ".join(f"{count} {name}" for name, count in counts)
    if not all(count for _, count in counts):
        return Finding(
            "reference data", WRONG, f"{words}.", "Run manage.py loaddata fixtures/*.json."
        )
    return Finding("reference data", FINE, f"{words}.")


def _formulary(_: datetime) -> Finding:
    approved = FormularyRevision.objects.filter(state=FormularyState.APPROVED).first()
    if approved:
        words = f"{approved}, approved {approved.approved_on:%F} by {approved.approved_by_name}."
        return Finding("formulary", FINE, words)
    if settings.READINESS_DEMO:
        return Finding(
            "formulary",
            LOOK,
            "The demonstration formulary is drilled, which is not for patient care.",
            "Unset READINESS_DEMO on a service.",
        )
    return Finding(
        "formulary",
        LOOK,
        "No revision is approved, so dose drills stay closed.",
        "A medical director approves one on the page Formulary.",
    )


def _administrator(now: datetime) -> Finding:
    here = Person.objects.filter(is_active=True, grants__role=Role.ADMIN)
    shut_out = set(waiting_for_slips(now=now).without)
    able = sum(person not in shut_out for person in here)
    if not here:
        return Finding(
            "administrators",
            WRONG,
            "There is none.",
            "Run manage.py add_person NUMBER NAME --role admin.",
        )
    if not able:
        return Finding(
            "administrators",
            WRONG,
            f"{len(here)} active, none of them with a password or a code that is good.",
            f"Run manage.py give_code {here[0].employee_number}.",
        )
    return Finding("administrators", FINE, f"{able} active.")


def _rigs(_: datetime) -> Finding:
    count = Rig.objects.count()
    behind = Rig.objects.exclude(revision__state=RevisionState.PUBLISHED).count()
    if not count or behind:
        return Finding(
            "rigs",
            LOOK,
            f"{count} rigs, {behind} of them on no published revision.",
            "The layout keeper imports and publishes a layout and adds rigs on the page Rigs.",
        )
    return Finding("rigs", FINE, f"{count} rigs, all on a published revision.")


def _must_haves(_: datetime) -> Finding:
    wanted = {
        frozenset((need["need"], *need["serves_instead"]))
        for needs in CallType.objects.values_list("needs", flat=True)
        for need in needs
        if need["grade"] == MUST
    }
    kept = worded_needs()
    revisions = Revision.objects.filter(state=RevisionState.PUBLISHED, rigs__isnull=False)
    untied = {str(each): _untied(each, wanted, kept) for each in revisions.distinct()}
    words = "; ".join(f"{name}: {count}" for name, count in untied.items()) or "no rig is here yet"
    words = f"Of {len(wanted)} must-haves of calls no item is tied to so many, by layout: {words}."
    if any(untied.values()):
        return Finding(
            "must-haves", LOOK, words, "The layout keeper ties items on the page of the layout."
        )
    return Finding("must-haves", FINE, words)


def _untied(revision: Revision, wanted: set[frozenset[str]], needs: list[Need]) -> int:
    ties = confirmed_ties(terms_of(revision), needs)
    tied = {tie.need for tie in ties.values()}
    return sum(not needs & tied for needs in wanted)


def _reports(now: datetime) -> Finding:
    late = Absence.objects.open().filter(reported_at__lt=now - REPORTS_WAIT).count()
    if late:
        return Finding(
            "reports",
            LOOK,
            f"{late} of what is not where the layout says have waited more than "
            f"{REPORTS_WAIT.days} days.",
            "The layout keeper answers them on the page Rigs.",
        )
    return Finding("reports", FINE, f"None has waited more than {REPORTS_WAIT.days} days.")


def _fit(now: datetime) -> Finding:
    """The newest fit of what people know: there, read by this release, and of these nights."""
    fit, to_do = newest_fit(), "Run manage.py refit, and see that it runs each night."
    if fit is None:
        if has_evidence():
            return Finding("refit", LOOK, "There was none yet, so chances are counted.", to_do)
        return Finding("refit", FINE, "Nobody has answered yet, so there is nothing to fit.")
    words = f"The newest fit is of {localtime(fit.made_at):%F %R}, {settings.TIME_ZONE}."
    if not fit.is_used:
        words = f"{words} This release cannot read it, so chances are counted."
        return Finding("refit", LOOK, words, to_do)
    if fit.made_at < now - FIT_LASTS:
        words = f"{words} That is {(now - fit.made_at).days} days ago."
        return Finding("refit", LOOK, words, to_do)
    if comes_with_the_next_refit():
        words = f"{words} An earlier release made it; what is missed more than expected waits."
        return Finding("refit", LOOK, words, to_do)
    return Finding("refit", FINE, words)


def _clock(now: datetime) -> Finding:
    words = f"{now:%F %R} UTC; pages show {settings.TIME_ZONE}."
    newest = max(
        filter(None, (_newest(AuditEntry, "at"), _newest(Presentation, "served_at"))), default=now
    )
    if newest > now + CLOCK_SLACK:
        return Finding(
            "clock", WRONG, f"{words} The newest record is of {newest:%F %R}.", "Set the clock."
        )
    return Finding("clock", FINE, words)


def _newest(kind: type[models.Model], field: str) -> datetime | None:
    newest: datetime | None = kind._base_manager.aggregate(newest=models.Max(field))["newest"]
    return newest


def _backup(_: datetime) -> Finding:
    return Finding(
        "backups",
        LOOK,
        "Where they are kept is not known here, nor how old the last one is.",
        "See that manage.py backup runs daily, and try restore now and then.",
    )


_TABLES: tuple[Look, ...] = (
    _reference,
    _formulary,
    _administrator,
    _rigs,
    _must_haves,
    _reports,
    _fit,
    _clock,
)
