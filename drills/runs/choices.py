"""What the page of a prompt offers to choose from."""

from collections.abc import Mapping

from drills.engine.choosing import chosen_most
from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS, NUMBER_KINDS, REACH, STAGE, TRIAGE
from drills.engine.staging import kit_keys
from drills.scenarios.models import DrillPrompt

# Of one count, as many as two figures write.
MOST = 99


def may_choose(prompt: DrillPrompt | None, layout: Layout) -> Mapping[str, int]:
    """What the page offers, by key, and how many of each there are."""
    if prompt is None:
        return dict.fromkeys(layout.by_code, 1)
    if prompt.kind == STAGE:
        return kit_keys(layout)
    if "groups" in prompt.shown:
        return chosen_most(prompt.shown["groups"], MOST)
    if prompt.kind == TRIAGE:
        return {key: 1 for key, *_ in prompt.shown["categories"]}
    if prompt.kind in (CONTENTS, REACH):
        return dict.fromkeys(prompt.choices, 1)
    return dict.fromkeys(layout.by_code, 1)


def choices_offered(prompt: DrillPrompt, layout: Layout) -> int:
    """How many choices there are, one of which may be hit by chance; none of a number."""
    return 0 if prompt.kind in NUMBER_KINDS else len(may_choose(prompt, layout))
