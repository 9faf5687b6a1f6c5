"""What an educator looks at: whose answers, on which rig, from when, and of which kind."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, TypeVar

from django import forms
from django.http import QueryDict
from django.utils import timezone

from drills.competency.reports import first_answers
from drills.people.models import Cohort
from drills.rigs.models import Revision, RevisionState

Named = TypeVar("Named")

EVER, DATES = "ever", "dates"
PERIODS = (
    ("30", "last 30 days"),
    ("120", "last 120 days"),
    (EVER, "ever"),
    (DATES, "from and to, below"),
)
SET_PERIODS = frozenset(word for word, _ in PERIODS) - {DATES}
FIRST, PROBES = "first", "probes"
EVIDENCE = ((FIRST, "first answers"), (PROBES, "probes alone"))
FIRST_YEAR, LAST_YEAR = 2000, 2199
DEFAULTS = {"period": "120", "evidence": FIRST}


@dataclass(frozen=True, slots=True)
class Choice:
    """What is looked at, in force and in words. `fact` is the key of one fact, if any."""

    revision: Revision
    cohort: Cohort | None
    since: datetime | None
    until: datetime
    probes_alone: bool
    fact: str

    @property
    def span(self) -> dict[str, Any]:
        """What both evidence and answers are narrowed to."""
        return {"cohort": self.cohort, "since": self.since, "until": self.until}

    @property
    def cohort_words(self) -> str:
        return self.cohort.name if self.cohort else "everybody"

    @property
    def period_words(self) -> str:
        """The first and the last day where the service is, in ISO form."""
        last = timezone.localdate(self.until - timedelta(microseconds=1))
        return f"{timezone.localdate(self.since)} to {last}" if self.since else f"up to {last}"

    @property
    def evidence_words(self) -> str:
        return dict(EVIDENCE)[PROBES if self.probes_alone else FIRST]


class ChoiceForm(forms.Form):
    """Every field may be left out; what comes in and is not known is refused by name."""

    cohort = forms.CharField(required=False)
    layout = forms.CharField(required=False)
    period = forms.CharField(required=False)
    evidence = forms.CharField(required=False)
    since = forms.CharField(required=False)
    until = forms.CharField(required=False)
    fact = forms.CharField(required=False)

    def __init__(self, data: QueryDict, *, today: date) -> None:
        given = {name: data.get(name) or default for name, default in DEFAULTS.items()}
        self.today = today
        self.cohorts = list(Cohort.objects.all())
        self.revisions = revisions_in_force()
        super().__init__({**data.dict(), **given, **_period_or_days(data, given["period"])})

    def clean_cohort(self) -> Cohort | None:
        slug = self.cleaned_data["cohort"]
        return named({each.slug: each for each in self.cohorts}, slug, "cohort") if slug else None

    def clean_layout(self) -> Revision | None:
        """The revision in force; without a word that of the layout with most first answers."""
        slug = self.cleaned_data["layout"]
        there = {each.layout.slug: each for each, _ in self.revisions}
        return named(there, slug, "layout") if slug else next(iter(there.values()), None)

    def clean_period(self) -> str:
        return _one_of(PERIODS, self.cleaned_data["period"], "period")

    def clean_evidence(self) -> str:
        return _one_of(EVIDENCE, self.cleaned_data["evidence"], "kind of evidence")

    def clean_since(self) -> date | None:
        return _day(self.cleaned_data["since"], "from")

    def clean_until(self) -> date | None:
        return _day(self.cleaned_data["until"], "to")

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        since, until = found.get("since"), found.get("until") or self.today
        if found.get("period") == DATES and since and since > until:
            raise forms.ValidationError(
                f"From {since} to {until} came in; a first day that is not after the last is "
                "accepted."
            )
        return found

    def choice(self) -> Choice | None:
        """What was chosen; nothing while no layout is in force."""
        found, revision = self.cleaned_data, self.cleaned_data["layout"]
        if revision is None:
            return None
        first, last = self._days()
        return Choice(
            revision=revision,
            cohort=found["cohort"],
            since=_midnight(first) if first else None,
            until=_midnight(last + timedelta(days=1)),
            probes_alone=found["evidence"] == PROBES,
            fact=found["fact"],
        )

    def _days(self) -> tuple[date | None, date]:
        """The first day, if there is one, and the last."""
        found, period = self.cleaned_data, self.cleaned_data["period"]
        if period == DATES:
            return found["since"], found["until"] or self.today
        first = None if period == EVER else self.today - timedelta(days=int(period) - 1)
        return first, self.today


def revisions_in_force() -> list[tuple[Revision, int]]:
    """With how many first answers there are on their layout, the most first."""
    rows = Revision.objects.filter(state=RevisionState.PUBLISHED).select_related("layout")
    answers = first_answers()
    listed = [(each, answers.get(each.layout_id, 0)) for each in rows.order_by("layout__name")]
    return sorted(listed, key=lambda pair: -pair[1])


def _period_or_days(data: QueryDict, period: str) -> dict[str, str]:
    """What days that came in beside another period mean: themselves, and no word is needed.

    But where they were in force, as `shown` says, choosing a period takes them back.
    """
    has_days = bool(data.get("since") or data.get("until"))
    if not has_days or period not in SET_PERIODS:
        return {}
    return {"since": "", "until": ""} if data.get("shown") == DATES else {"period": DATES}


def named(there: Mapping[str, Named], slug: str, what: str) -> Named:
    """What is there by that slug; `ValidationError` names what is, where it is not."""
    if slug not in there:
        accepted = ", ".join(sorted(there)) or "none yet"
        raise forms.ValidationError(f"{slug[:60]!r} is no {what} here; there are: {accepted}.")
    return there[slug]


def _one_of(there: Sequence[tuple[str, str]], word: str, what: str) -> str:
    return named({each: each for each, _ in there}, word, what)


def _day(text: str, what: str) -> date | None:
    try:
        day = date.fromisoformat(text) if text else None
    except ValueError:
        day = date.min
    if day and not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise forms.ValidationError(
            f"{text[:60]!r} came in for {what}; a day such as 2026-11-25 is accepted, "
            f"from {FIRST_YEAR} to {LAST_YEAR}."
        )
    return day


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))
