"""What is found of a patient: told in plain data, each finding read or refused by its name."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from drills.engine.door import NotUnderstoodError, shown

RADIAL, REFILL = "radial", "refill"
AVPU = ("A", "V", "P", "U")
# Beyond anything that lives (ours, no source): they catch a wrong unit and a slip of the hand.
MOST_BREATHS, MOST_REFILL_S = 200, 60
ASIDE = frozenset({"id", "note"})


class FindingError(NotUnderstoodError):
    """A finding that cannot be read, or two that cannot both be; the text names the field."""


Reader = Callable[[str, Any], Any]


def yes_or_no(name: str, value: Any) -> bool:
    """True or false, and nothing that only looks like it."""
    if not isinstance(value, bool):
        raise FindingError(f"{name}: {shown(value)} came in; true or false is accepted.")
    return value


def number(most: int, unit: str, *, whole: bool = False) -> Reader:
    """A reader of numbers from 0 to a most, in a unit; with `whole` of whole numbers alone."""
    kind = "a whole number" if whole else "a number"

    def read(name: str, value: Any) -> float:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not is_number or not 0 <= value <= most or (whole and value % 1):
            raise FindingError(
                f"{name}: {shown(value)} came in; {kind} from 0 to {most} {unit} is accepted."
            )
        return float(value)

    return read


def one_of(*words: str) -> Reader:
    """A reader of one word of several, whatever its capitals."""

    def read(name: str, value: Any) -> str:
        for word in words:
            if isinstance(value, str) and value.casefold() == word.casefold():
                return word
        raise FindingError(f"{name}: {shown(value)} came in; accepted is {', '.join(words)}.")

    return read


def several_of(words: Iterable[str]) -> Reader:
    """A reader of a list of such words; an empty list says that none of them is so."""
    read_one = one_of(*words)

    def read(name: str, value: Any) -> frozenset[str]:
        if not isinstance(value, list):
            raise FindingError(f"{name}: {shown(value)} came in; a list is accepted.")
        return frozenset(read_one(f"{name}[{at}]", each) for at, each in enumerate(value))

    return read


READERS: Mapping[str, Reader] = {
    "perfusion": one_of(RADIAL, REFILL),
    **dict.fromkeys(
        (
            *("walks", "breathes", "breathes_after_opening", "breathes_after_rescue_breaths"),
            *("pulse", "obeys", "purposeful", "posturing", "distress", "bleeding_controlled"),
            *("minor_only", "survivable", "walked_before_event", "external_injury"),
        ),
        yes_or_no,
    ),
    "rate": number(MOST_BREATHS, "a minute"),
    "refill_s": number(MOST_REFILL_S, "s"),
    "avpu": one_of(*AVPU),
}


def read_findings(
    given: Mapping[str, Any], readers: Mapping[str, Reader] = READERS
) -> dict[str, Any]:
    """The findings that are told, by name; one that is null counts as not told.

    `rate` is in breaths a minute, `refill_s` in seconds, `avpu` a letter. Raises `FindingError` for
    a name that is none, for a value that is not accepted and for findings that contradict.
    """
    for name in given:
        if name not in readers and name not in ASIDE:
            raise FindingError(f"{name}: it is no finding; accepted are {', '.join(readers)}.")
    told = {
        name: readers[name](name, value)
        for name, value in given.items()
        if name in readers and value is not None
    }
    _refuse_contradictions(told)
    return told


# Only what cannot be in any order of events: whoever chokes may obey, whoever is in shock may walk.
_CONTRADICTIONS: tuple[tuple[Mapping[str, Any], str], ...] = (
    (
        {"walks": True, "breathes": False},
        "walks: true came in with breathes: false; who walks breathes.",
    ),
    ({"walks": True, "rate": 0}, "rate: 0 came in with walks: true; who walks breathes."),
    ({"breathes": True, "rate": 0}, "rate: 0 came in with breathes: true; over 0 is accepted."),
    (
        {"avpu": "U", "walks": True},
        "avpu: U came in with walks: true; who walks is not unresponsive.",
    ),
    (
        {"avpu": "U", "obeys": True},
        "avpu: U came in with obeys: true; who obeys is not unresponsive.",
    ),
    (
        {"avpu": "U", "purposeful": True},
        "avpu: U came in with purposeful: true; who moves on purpose is not unresponsive.",
    ),
)


def _refuse_contradictions(told: Mapping[str, Any]) -> None:
    for both, why in _CONTRADICTIONS:
        if all(name in told and told[name] == value for name, value in both.items()):
            raise FindingError(why)
    if told.get("rate") and _never_breathes(told):
        raise FindingError(
            f"rate: {told['rate']:g} came in, and breathes is false also after the airway is "
            "opened; 0 is accepted, or nothing."
        )


def _never_breathes(told: Mapping[str, Any]) -> bool:
    is_still = told.get("breathes") is False and told.get("breathes_after_opening") is False
    return is_still and not told.get("breathes_after_rescue_breaths")
