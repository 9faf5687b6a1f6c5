"""Findings told as a crew meets them: one short sentence each, and never a category."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from drills.engine.incidents.findings import AGONAL, Sorting, Whose
from drills.engine.triage import CHARTS

_LETTERS = {
    "A": "Awake",
    "V": "Opens the eyes when called",
    "U": "No answer to voice or pinch",
}
_FIRST = ("walks", "breathes")


def told(
    findings: Mapping[str, Any], whose: Whose, *, only: Collection[str] = ()
) -> tuple[str, ...]:
    """Every finding in words, in the order in which it is met; with `only` those alone."""
    told_of = {*_FIRST, *(only or findings)}
    shown = {name: value for name, value in findings.items() if name in told_of}
    return tuple(
        sentence
        for part in (_walking, _breathing, _circulation, _mind, _bleeding)
        for sentence in part(shown, whose)
    )


def asked_for(findings: Mapping[str, Any], whose: Whose, sorting: Sorting) -> frozenset[str]:
    """The findings that the chart asks for on the way of this patient."""
    chart = CHARTS[sorting.scheme(is_child=whose.is_child)]
    taken = sorting.follow(findings, is_child=whose.is_child).rows
    steps = {row.step for row in taken}
    asked = {
        part.split(" ")[0]
        for row in chart.branches
        if row.step in steps
        for part in row.when.split(", ")
    }
    return frozenset(asked & set(findings))


def _walking(shown: Mapping[str, Any], whose: Whose) -> Iterator[str]:
    if shown["walks"]:
        yield "Gets up and walks when called."
    elif whose.is_carried:
        yield "Lies in somebody's arms."
    else:
        yield "Does not get up when called."


def _breathing(shown: Mapping[str, Any], whose: Whose) -> Iterator[str]:
    if not shown["breathes"]:
        yield "Does not breathe."
        yield from _helped(shown)
    if rate := shown.get("rate"):
        yield f"{_counted(rate, shown)}."
    elif shown["breathes"] and "distress" in shown:
        yield "Works hard to breathe." if shown["distress"] else "Breathes easily."


def _counted(rate: int, shown: Mapping[str, Any]) -> str:
    if rate <= AGONAL[1] and shown["breathes"]:
        return f"Gasps {rate} times a minute"
    return f"Breathes {rate} a minute{_effort(shown)}"


def _helped(shown: Mapping[str, Any]) -> Iterator[str]:
    """What opening the airway did, and rescue breaths: with no pulse the chart gives none."""
    opened = shown.get("breathes_after_opening")
    if opened is not None:
        yield "Breathes once the airway is open." if opened else "No breath with the airway open."
    rescued = shown.get("breathes_after_rescue_breaths")
    if rescued:
        yield "Breathes after the rescue breaths."
    elif rescued is not None and shown.get("pulse"):
        yield "No breath after the rescue breaths."


def _effort(shown: Mapping[str, Any]) -> str:
    if "distress" not in shown or not shown["breathes"]:
        return ""
    return ", works hard for it" if shown["distress"] else ", easily"


def _circulation(shown: Mapping[str, Any], whose: Whose) -> Iterator[str]:
    where = "in the upper arm" if whose.is_carried else "at the wrist"
    if "pulse" in shown:
        yield f"{'A pulse' if shown['pulse'] else 'No pulse'} {where}."
    if "refill_s" in shown:
        yield f"Capillary refill {shown['refill_s']:g} s."


def _mind(shown: Mapping[str, Any], whose: Whose) -> Iterator[str]:
    letter, obeys = shown.get("avpu"), shown.get("obeys")
    if obeys is False and shown.get("purposeful"):
        yield "Awake, speaks another language, does not do what you ask, pushes your hand away."
    elif letter in _LETTERS:
        yield f"{_LETTERS[letter]}{_obeying(shown, whose)}."
    elif letter == "P":
        yield "Stiffens when pinched." if shown.get("posturing") else "Pulls away when pinched."
    elif obeys is not None:
        yield "Does what you ask." if obeys else "Does not do what you ask."


def _obeying(shown: Mapping[str, Any], whose: Whose) -> str:
    if shown["avpu"] == "U":
        return ""
    if whose.is_carried:
        return ", looks at you"
    return ", does what you ask" if shown.get("obeys") else ""


def _bleeding(shown: Mapping[str, Any], _: Whose) -> Iterator[str]:
    if shown.get("bleeding_controlled") is False:
        yield "Blood keeps coming."
