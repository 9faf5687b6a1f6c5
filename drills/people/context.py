"""What every page knows of the person in front of it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from django.conf import settings
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.crypto import salted_hmac

from drills.people.models import Person
from drills.people.switches import GLOVES_COOKIE, MOOD_COOKIE, MOODS

_OWNER = "drills.people.owner"


@dataclass(frozen=True, slots=True)
class Entry:
    """One sheet name along the top."""

    name: str
    url: str
    is_current: bool


class Sheet:
    """Mood, gloves and sheet names; nothing is worked out before a page asks."""

    def __init__(self, request: HttpRequest) -> None:
        self._request = request
        self.is_demo = bool(settings.READINESS_DEMO)

    @property
    def mood(self) -> str:
        """Day, night or system."""
        chosen = self._request.COOKIES.get(MOOD_COOKIE, "")
        return chosen if chosen in MOODS else "system"

    @property
    def has_gloves(self) -> bool:
        return self._request.COOKIES.get(GLOVES_COOKIE) == "on"

    @property
    def here(self) -> str:
        """Where a switch leads back to; a page that answers POST alone is none."""
        return self._request.get_full_path() if self._request.method == "GET" else ""

    @property
    def is_closed(self) -> bool:
        """Whether an assessed prompt of this person is open."""
        return self._person is not None and self._person.has_assessed_prompt

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """The sheets that exist and that this person may open."""
        found = dict(self._open_sheets())
        current = _closest(self._request.path, found.values())
        return tuple(Entry(name, url, url == current) for name, url in found.items())

    @property
    def home(self) -> str:
        return _address(settings.LOGIN_REDIRECT_URL)

    @property
    def runs(self) -> str:
        """Where a person finds the run they are in."""
        return _address(settings.RUNS_URL) or self.home

    @property
    def owner(self) -> str:
        """By what a phone knows whose presses it keeps: the same for a person, and no name."""
        person = self._person
        return salted_hmac(_OWNER, str(person.pk)).hexdigest()[:16] if person else ""

    @property
    def _person(self) -> Person | None:
        """Who is signed in; nobody where a request failed before anyone was recognised."""
        user = getattr(self._request, "user", None)
        return user if isinstance(user, Person) else None

    def _open_sheets(self) -> Iterator[tuple[str, str]]:
        person = self._person
        if person is None:
            return
        for name, view, roles in settings.SHEETS:
            url = _address(view)
            if url and (not roles or person.holds(*roles)):
                yield name, url


def sheet(request: HttpRequest) -> dict[str, Sheet]:
    """What `base.html` takes, under one name."""
    return {"sheet": Sheet(request)}


def _address(view: str) -> str:
    try:
        return reverse(view)
    except NoReverseMatch:
        return ""


def _closest(path: str, urls: Iterable[str]) -> str:
    """The longest address that the path lies under; the top one only when it is the path."""
    under = [url for url in urls if path == url or (url != "/" and path.startswith(url))]
    return max(under, key=len, default="")
