"""The call types that come with the product, read from their files without a database."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from drills.engine.calls import AgeBand, CallType, CallWorld
from drills.scenarios.models import CallType as CallTypeRow
from drills.scenarios.models import Problem
from drills.scenarios.reading import call_type_of, problem_of

FIXTURES = Path(__file__).parents[2] / "fixtures"


def _rows(name: str, model: str) -> list[dict[str, Any]]:
    rows = json.loads((FIXTURES / f"{name}.json").read_text(encoding="utf-8"))
    return [row["fields"] for row in rows if row["model"] == f"scenarios.{model}"]


@cache
def call_types() -> dict[str, CallType]:
    """Every call type, by its slug."""
    return {
        row["slug"]: call_type_of(CallTypeRow(**row), {}) for row in _rows("call_types", "calltype")
    }


@cache
def world() -> CallWorld:
    """What they are made from."""
    places = _rows("localities", "locality")
    return CallWorld(
        bands={
            row["key"]: AgeBand(row["key"], row["age_from_y"], row["age_to_y"], row["size"])
            for row in _rows("localities", "ageband")
        },
        problems={row["slug"]: problem_of(Problem(**row)) for row in _rows("problems", "problem")},
        places=tuple(row["name"] for row in places if row["kind"] == "place"),
        roads=tuple((row["name"], row["road_kind"]) for row in places if row["kind"] == "road"),
    )
