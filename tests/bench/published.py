"""The published cases by kind: how many, how many of them were read in a source, and in how many.

Run it as `python -m tests.bench.published`; it prints the table that the guide gives.
"""

import sys
from collections import defaultdict

from tests.engine.published import CASES
from tests.engine.test_dosing_published import HAZARDS, MISPRINTS, WORKED

_MISPRINTED = "misprints, which are not reproduced"
KINDS = {
    "pounds to kilograms": "weight_lb_kg",
    "weight from age": "weight_est weight_band_est",
    "doses and their volumes": "dose_mg dose_volume dose_units volume_per_kg rounding bolus",
    "strengths and dilutions": "percent ratio concentration dilution",
    "drips": "gtt_per_min rate_mL_h volume_from_rate time_to_empty infusion_rate infusion_gtt",
    "oxygen": "oxygen_minutes oxygen_hours oxygen_min_pressure gas_volume cylinder_factor "
    "cylinder_litres",
    "burns": "burn_total burn_rate burn_rate_delay burn_start_rate burn_chart_sum",
    "shocks": "energy",
    "tube sizes": "tube_size tube_size_kg",
    "least pressure, mean pressure, shock index": "min_sbp map shock_index modified_shock_index "
    "age_shock_index",
    "coma scale": "gcs",
}
_KIND_OF = {kind: words for words, kinds in KINDS.items() for kind in kinds.split()}


def rows() -> dict[str, list[tuple[bool, str]]]:
    """Of each kind its cases: whether it was read in its source, and the source."""
    found: dict[str, list[tuple[bool, str]]] = defaultdict(list)
    for row in CASES:
        if row["kind"] in _KIND_OF:
            found[_KIND_OF[row["kind"]]].append((row["status"] == "confirmed", row["source"]))
        elif row["id"] not in {each["id"] for each in MISPRINTS}:
            found[_MISPRINTED].append((True, row["source"]))
    for kind, each in (
        (_MISPRINTED, MISPRINTS),
        ("printed draws too small for their marks, which are refused", HAZARDS),
        ("rows of a dose table by weight", WORKED.values()),
    ):
        found[kind] += [("are ours" not in row["source"], row["source"]) for row in each]
    return found


def table() -> str:
    """The table as the guide has it."""
    lines = ["| Kind | Cases | Read in a source | Sources |", "|---|---|---|---|"]
    for kind, each in rows().items():
        read, sources = sum(is_read for is_read, _ in each), len({source for _, source in each})
        lines.append(f"| {kind} | {len(each)} | {read} | {sources} |")
    every = [case for each in rows().values() for case in each]
    read, sources = sum(is_read for is_read, _ in every), len({source for _, source in every})
    lines.append(f"| all | {len(every)} | {read} | {sources} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(table())
