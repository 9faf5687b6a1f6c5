"""What is told of an answer beside its mark: that it waits to be sent, or was recorded before."""

from collections.abc import Mapping
from typing import Any

from drills.people.kept import Sent
from drills.runs.models import Presentation, PresentationState, Run
from drills.runs.told import tell
from drills.scenarios.reading import layout_asked


def recorded(presentation: Presentation) -> str:
    """What the person's own stored answer to a prompt says; of its mark nothing."""
    layout = layout_asked(presentation.run.drill)
    if presentation.prompt is None:
        said = [layout.path(presentation.subject)]
    else:
        said = [*tell(presentation, layout).said]
    return f"Recorded: {'; '.join(said) or 'that you do not know'}."


def kept_context(context: Mapping[str, Any], kept: Sent) -> dict[str, Any]:
    """What was sent while its person was signed out, if it is for the prompt that is open."""
    presentation, run = context["presentation"], context["run"]
    is_open = presentation is not None and presentation.state == PresentationState.OPEN
    if not is_open or ("token", presentation.token) not in kept:
        return {}
    return {"kept": kept, "kept_words": _words(run, kept)}


def _words(run: Run, kept: Sent) -> str:
    """A number as it was written, or the places chosen; empty for what takes more than a line."""
    values = dict(kept)
    if values.get("amount"):
        return f"{values['amount']} {values.get('unit', '')}".strip()
    layout = layout_asked(run.drill)
    codes = (code for code in layout.by_code if run.token_for(code) in values.values())
    return "; ".join(map(layout.path, codes))
