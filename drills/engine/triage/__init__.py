"""Triage by the published schemes: START, JumpSTART and SALT, from tables with their sources.

A finding that is not told is unknown, and is asked for only where a branch needs it. The schemes do
not agree, and none is better because it is here: a prompt names its scheme, and for SALT what
resources there are. Training only.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file
from drills.engine.triage.charts import FOLDER, Chart, Outcome, chart
from drills.engine.triage.findings import RADIAL, FindingError, read_findings, yes_or_no

START, JUMPSTART, SALT = "start", "jumpstart", "salt"
CHARTS: Mapping[str, Chart] = {name: chart(name) for name in (START, JUMPSTART, SALT)}
ORDER = chart("salt_order")


@dataclass(frozen=True, slots=True, kw_only=True)
class Category(Sourced):
    """A category of some schemes: its word, its colour, which never stands alone, and its urgency.

    Urgency is the order of treatment, 1 first. `called_dead` is whom nobody treats for now.
    """

    schemes: str
    category: str
    word: str
    colour: str
    urgency: int
    called_dead: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondLook(Sourced):
    """How a scheme looks again at who walks: from a step on, and what a category then becomes."""

    scheme: str
    begins: str
    category: str
    becomes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lifesaving(Sourced):
    """A lifesaving intervention of SALT: before the category, if quick and in scope."""

    step: str
    when_used: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference(Sourced):
    """What the schemes do not agree on."""

    subject: str
    start: str
    jumpstart: str
    salt: str


CATEGORIES = read_file(FOLDER / "categories.csv", Category)
_BY_KEY = {(each.schemes, each.category): each for each in CATEGORIES}
SECOND_LOOKS = read_file(FOLDER / "second_look.csv", SecondLook)
LIFESAVING = read_file(FOLDER / "lifesaving.csv", Lifesaving)
DIFFERENCES = read_file(FOLDER / "differences.csv", Difference)

START_FAMILY, SALT_FAMILY = "START and JumpSTART", "SALT"
FAMILY = {START: START_FAMILY, JUMPSTART: START_FAMILY, SALT: SALT_FAMILY}


def triage(scheme: str, findings: Mapping[str, Any]) -> Outcome:
    """The category of a patient by a scheme, with the branches taken; or the finding it needs.

    Findings are told by the names of `findings.READERS`, `rate` in breaths a minute and `refill_s`
    in seconds. `perfusion` is the test that START goes by; untold it is the radial pulse. Raises
    `FindingError`, which names the field, for a scheme that is none and for what cannot be read.
    """
    known = _known(scheme, findings)
    return _told(scheme, CHARTS[scheme].follow(known))


def second_look(scheme: str, findings: Mapping[str, Any]) -> Outcome:
    """START or JumpSTART for a patient who walked to the place: the rest of the chart.

    Who passes all of it stays minor. Raises `FindingError` for whoever is not told to walk, and for
    SALT, which assesses everybody one by one.
    """
    known = _known(scheme, findings)
    rule = next((each for each in SECOND_LOOKS if each.scheme == scheme), None)
    if rule is None:
        raise FindingError(
            f"scheme: {scheme} looks at everyone; a second look is of start or jumpstart."
        )
    if not known.get("walks"):
        raise FindingError("walks: a second look is for who walks; true is accepted.")
    found = CHARTS[scheme].follow(known, begins=rule.begins)
    if found.category == rule.category:
        found = replace(found, category=rule.becomes, path=(*found.path, "Walks all the while."))
    return _told(scheme, found)


def salt_order(*, obvious_threat: bool | None, walks: bool | None, waves: bool | None) -> Outcome:
    """When SALT looks at a patient: `first`, `second` or `third`; it is no category.

    `waves` is to wave or to move on purpose when asked to; None is unknown.
    """
    told = {"obvious_threat": obvious_threat, "walks": walks, "waves": waves}
    return ORDER.follow({k: yes_or_no(k, each) for k, each in told.items() if each is not None})


def category(family: str, key: str) -> Category:
    """A category by its key and the family of schemes it is of; `KeyError` for one that is none."""
    return _BY_KEY[family, key]


def _known(scheme: str, findings: Mapping[str, Any]) -> dict[str, Any]:
    if scheme not in CHARTS:
        raise FindingError(f"scheme: {scheme!r} came in; accepted is {', '.join(CHARTS)}.")
    return {"perfusion": RADIAL, **read_findings(findings)}


def _told(scheme: str, found: Outcome) -> Outcome:
    """The path ends with the category in words, its colour beside it."""
    if found.category is None:
        return found
    end = category(FAMILY[scheme], found.category)
    return replace(found, path=(*found.path, f"{end.word} ({end.colour})."))
