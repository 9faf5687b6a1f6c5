"""The settings of a recipe, read as they were written on a form, with all that is wrong."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from drills.engine.knobs import EASIEST, HARDEST
from drills.engine.layout import FACES
from drills.engine.recipes import (
    ALLOCATE,
    ANY_CALL,
    ARRIVE,
    AS_A_CALL_RUNS,
    BUILT_FOCUSES,
    BY_COMPARTMENT,
    CALL_KINDS,
    CONTENTS,
    DOSE,
    FIELD,
    LOCATE,
    MIXED,
    MOVED,
    OPEN_KINDS,
    REACH,
    RISING,
    STAGE,
    SUPPLY,
    TRIAGE,
)
from drills.engine.scoring import DEPTHS, POCKET
from drills.engine.timing import OVER_BASELINE, SHORTEST_CUT_OFF

PRACTICE, ASSESSED = "practice", "assessed"
RIG_TODAY, CHOSEN = "rig today", "choose"
# Before the key of the one layout that a recipe is drilled on, whatever rig one rides.
ON_LAYOUT = "layout:"
AS_ASKED = (MOVED, LOCATE, CONTENTS, REACH, ARRIVE, TRIAGE, FIELD, STAGE, DOSE, SUPPLY, ALLOCATE)
ORDERS_OF_CALLS = (AS_A_CALL_RUNS, RISING)
ORDERS = (MIXED, BY_COMPARTMENT, RISING, AS_A_CALL_RUNS)
# What a recipe asks as much of as there is, as it is written on a form and kept.
ALL, AUTO = "all", "auto"
COUNT = "n_"
# More than one sits down to, of a kind; calls and patients take longer. Ours, no source.
MOST_OF_RIG, MOST_OF_CALLS = 30, 10
_MOST = dict.fromkeys((*CALL_KINDS, FIELD), MOST_OF_CALLS)
NAME_LENGTH, NOTES_LENGTH = 80, 300
MOST_MINUTES, MOST_PATIENTS, LONGEST_LIMIT, LONGEST_CUT_OFF = 240, 60, 600, 3600
_SHOWN = 40
_WHOLE, _SECONDS = re.compile(r"[0-9]{1,4}"), re.compile(r"[0-9]{1,4}([.,][0-9])?")

Typed = Mapping[str, Sequence[str]]


@dataclass(slots=True)
class _Form:
    """What was written, and what is found wrong with it."""

    typed: Typed
    faults: dict[str, str] = field(default_factory=dict)

    def line(self, name: str) -> str:
        return " ".join("".join(self.typed.get(name, ())[:1]).split())

    def refuse(self, name: str, came: str, accepted: str) -> None:
        shown = f"“{came[:_SHOWN]}”" if came else "nothing"
        self.faults.setdefault(name, f"{shown} came in; {accepted}.")

    def words(self, name: str, *, longest: int, is_needed: bool = False) -> str:
        text = self.line(name)
        if len(text) > longest:
            self.faults[name] = f"{len(text)} letters came in; at most {longest} are accepted."
        if is_needed and not text:
            self.refuse(name, "", f"a name of at most {longest} letters is accepted")
        return text

    def one_of(self, name: str, accepted: Collection[str]) -> str:
        text = self.line(name)
        if text not in accepted:
            self.refuse(name, text, f"one of {', '.join(accepted)} is accepted")
        return text

    def some_of(self, name: str, accepted: Collection[str]) -> list[str]:
        """Those that were ticked, in the order of the form."""
        given = self.typed.get(name, ())
        for text in given:
            if text not in accepted:
                self.refuse(name, text, f"any of {', '.join(accepted)} are accepted")
        return [each for each in accepted if each in given]

    def whole(self, name: str, *, least: int, most: int, is_needed: bool = False) -> int | None:
        text = self.line(name)
        if not text and not is_needed:
            return None
        if not _WHOLE.fullmatch(text) or not least <= int(text) <= most:
            self.refuse(name, text, f"a whole number from {least} to {most} is accepted")
            return None
        return int(text)

    def seconds(self, name: str, *, most: int) -> float | None:
        text = self.line(name)
        if not text:
            return None
        value = float(text.replace(",", ".")) if _SECONDS.fullmatch(text) else 0.0
        if not 1 <= value <= most:
            self.refuse(name, text, f"seconds from 1 to {most} are accepted")
            return None
        return value

    def is_ticked(self, name: str) -> bool:
        return bool(self.line(name))


def read_settings(
    typed: Typed,
    *,
    call_types: Collection[str],
    layouts: Collection[str] = (),
    order_of_kinds: Sequence[str] = (),
) -> tuple[dict[str, Any], dict[str, str]]:
    """The settings of a recipe by name, and what is wrong with them by field; one of the two holds.

    `typed` are the values of each field as they were written, `call_types` and `layouts` the keys
    that there are.
    Kinds stand in `order_of_kinds` first, which is how a recipe had them before: as a call runs
    they are asked in that order. Fields of counts are named `n_` and the kind. Limits are seconds.
    """
    form = _Form(typed)
    given: dict[str, Any] = {
        "name": form.words("name", longest=NAME_LENGTH, is_needed=True),
        "notes": form.words("notes", longest=NOTES_LENGTH).rstrip("."),
        "mode": form.one_of("mode", (PRACTICE, ASSESSED)),
        "kinds": _kinds(form, order_of_kinds),
        "difficulty": form.whole("difficulty", least=EASIEST, most=HARDEST, is_needed=True),
        "layout_rule": form.one_of("layout_rule", (RIG_TODAY, CHOSEN, *map(on_layout, layouts))),
        "focus": form.some_of("focus", BUILT_FOCUSES),
        "faces": form.some_of("faces", FACES),
        "bags_only": form.is_ticked("bags_only"),
        "call_types": form.some_of("call_types", call_types),
        "patients_least": form.whole("patients_least", least=1, most=MOST_PATIENTS),
        "patients_most": form.whole("patients_most", least=1, most=MOST_PATIENTS),
        "depth": form.one_of("depth", DEPTHS),
        "order": form.one_of("order", ORDERS),
        "probes_share": (form.whole("probes", least=0, most=100) or 0) / 100,
        "rule_shown": form.is_ticked("rule_shown"),
        "marks_writing": form.is_ticked("marks_writing"),
        "limit_over_baseline_s": form.seconds("limit_over_baseline_s", most=LONGEST_LIMIT),
        "cut_off_s": form.seconds("cut_off_s", most=LONGEST_CUT_OFF),
        "minutes": form.whole("minutes", least=1, most=MOST_MINUTES, is_needed=True),
        "pass_marks_percent": form.whole("pass_marks_percent", least=0, most=100),
        "pass_in_time_percent": form.whole("pass_in_time_percent", least=0, most=100),
        "no_unsafe_dose": form.is_ticked("no_unsafe_dose"),
        "no_must_missed": form.is_ticked("no_must_missed"),
    }
    _judge_together(form, given)
    return given, form.faults


def on_layout(key: str) -> str:
    """How a recipe says that it is drilled on one layout, by its key."""
    return ON_LAYOUT + key


def layout_named(rule: str) -> str:
    """The key of the one layout that a recipe is drilled on; empty for any."""
    return rule.removeprefix(ON_LAYOUT) if rule.startswith(ON_LAYOUT) else ""


def written(settings: Mapping[str, Any]) -> dict[str, list[str]]:
    """The settings as a form writes them: what `read_settings` would read as the same."""
    found = {name: _as_text(value) for name, value in settings.items() if value is not None}
    for part in filter(None, settings["kinds"].split(";")):
        kind, _, count = part.partition(":")
        found[COUNT + kind.strip()] = [ALL if count == AUTO else count]
    order = settings["order"]
    found["order"] = [order if order in ORDERS else BY_COMPARTMENT]
    found["depth"] = [settings["depth"] or POCKET]
    found["probes"] = [f"{round(settings['probes_share'] * 100)}"]
    return found


def _as_text(value: Any) -> list[str]:
    if isinstance(value, (list, tuple)):
        return [each for each in value if each != ANY_CALL]
    if isinstance(value, bool):
        return ["on"] if value else []
    return [f"{value:g}" if isinstance(value, float) else str(value)]


def _kinds(form: _Form, first: Sequence[str]) -> str:
    """The kinds with their counts, as a recipe keeps them."""
    in_order = sorted(AS_ASKED, key=lambda each: _place(each, first))
    counts = {kind: _count(form, kind) for kind in in_order}
    parts = [f"{kind}:{count}" for kind, count in counts.items() if count]
    if not parts and not any(name.startswith(COUNT) for name in form.faults):
        form.faults["kinds"] = "It asks nothing. Say of one kind at least how many to ask."
    return ";".join(parts)


def _count(form: _Form, kind: str) -> str:
    """How many of a kind, as a recipe keeps it; empty for none."""
    name, is_open = COUNT + kind, kind in OPEN_KINDS
    if is_open and form.line(name).casefold() in {ALL, AUTO}:
        return AUTO
    count = form.whole(name, least=0, most=_MOST.get(kind, MOST_OF_RIG))
    if is_open and name in form.faults:
        form.faults[name] = f"{form.faults[name][:-1]}, or “{ALL}”."
    return str(count) if count else ""


def _place(kind: str, first: Sequence[str]) -> int:
    """Where a kind stands: as it was, else after those, as one would be asked on a call."""
    return list(first).index(kind) if kind in first else len(first) + AS_ASKED.index(kind)


def _judge_together(form: _Form, given: Mapping[str, Any]) -> None:
    """What is wrong with one setting beside another."""
    kinds = {part.partition(":")[0] for part in given["kinds"].split(";")} - {""}
    of_rig = kinds - {*CALL_KINDS, FIELD}
    least, most = given["patients_least"], given["patients_most"]
    if least and most and least > most:
        form.refuse("patients_most", str(most), f"it is {least} or more, the fewest there are")
    if _is_order_of_nothing(given["order"], kinds):
        form.refuse(
            "order",
            given["order"],
            "nothing of it comes from calls, so mixed is accepted, or by compartment",
        )
    if given["cut_off_s"] is not None:
        _judge_cut_off(form, given, has_limits=bool(of_rig - {REACH}))


def _is_order_of_nothing(order: str, kinds: Collection[str]) -> bool:
    """Whether an order of calls is asked for, and something, but nothing of calls."""
    return order in ORDERS_OF_CALLS and bool(kinds) and not {*CALL_KINDS} & {*kinds}


def _judge_cut_off(form: _Form, given: Mapping[str, Any], *, has_limits: bool) -> None:
    cut_off = given["cut_off_s"]
    over = given["limit_over_baseline_s"] or OVER_BASELINE
    came = f"{cut_off:g} s"
    if given["mode"] == PRACTICE:
        form.refuse("cut_off_s", came, "practice is never cut off, so leave it empty")
    elif not has_limits:
        form.refuse("cut_off_s", came, "nothing of it has a limit, so leave it empty")
    elif cut_off < SHORTEST_CUT_OFF * over:
        form.refuse(
            "cut_off_s",
            came,
            f"it is never under twice the limit, so {SHORTEST_CUT_OFF * over:g} s or more is "
            "accepted",
        )
