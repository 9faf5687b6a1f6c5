"""The doors that read one JSON document and print another: what all of them have alike."""

import json
from collections.abc import Callable, Mapping
from typing import Any

UNDERSTOOD, NOT_UNDERSTOOD = 0, 2
_LONGEST_SHOWN = 80


class NotUnderstoodError(ValueError):
    """What came in cannot be understood; the text names the field, and what it accepts."""


def answer(read: Callable[[], str], told: Callable[[Any], dict[str, Any]]) -> tuple[int, str]:
    """The code that a door ends with, and the JSON that it prints, for the JSON that is read."""
    try:
        return UNDERSTOOD, json.dumps(told(_read_json(read)))
    except NotUnderstoodError as error:
        return NOT_UNDERSTOOD, json.dumps({"error": str(error)})


def shown(value: Any) -> str:
    """What came in, cut where it is long; what is nested is only named."""
    if isinstance(value, str):
        return repr(_cut(value))
    if value is None or isinstance(value, bool):
        return json.dumps(value)
    if isinstance(value, list):
        return "a list" if value else "an empty list"
    if isinstance(value, Mapping):
        return "an object" if value else "an empty object"
    return _number(value)


def _number(value: Any) -> str:
    is_long = isinstance(value, int) and abs(value) >= 10**_LONGEST_SHOWN
    return "a long number" if is_long else repr(value)


def shown_name(name: str) -> str:
    """A name as it came in, cut where it is long; one that cannot be seen is quoted."""
    return _cut(name) if name.strip() else repr(_cut(name))


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."


def _read_json(read: Callable[[], str]) -> Any:
    try:
        return json.loads(read().lstrip("\ufeff"), object_pairs_hook=_each_once)
    except NotUnderstoodError:
        raise
    except (ValueError, RecursionError) as error:
        raise NotUnderstoodError(
            f"standard input: it is no JSON that is understood ({error})."
        ) from error


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object; of a field told twice nobody knows which is meant."""
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = next(name for name in found if sum(name == each for each, _ in pairs) > 1)
        raise NotUnderstoodError(f"{twice}: it came in twice.")
    return found
