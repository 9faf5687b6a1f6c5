"""In which order a kit was taken: kept for the debrief, and never marked."""

from collections.abc import Sequence

from drills.engine.layout import Layout
from drills.engine.recipes import STAGE
from drills.engine.staging import kit_keys
from drills.runs.models import Presentation


def order_taken(presentation: Presentation, layout: Layout, order: Sequence[str]) -> list[str]:
    """The places of a kit as they were taken from; none unless all of them are known."""
    prompt = presentation.prompt
    if prompt is None or prompt.kind != STAGE or not order:
        return []
    keys = set(presentation.answer)
    known = {presentation.run.token_for(key): key for key in kit_keys(layout) if key in keys}
    came = [known[token] for token in dict.fromkeys(order) if token in known]
    codes = dict.fromkeys(key.partition(" ")[0] for key in came)
    return list(codes) if keys == set(came) else []
