"""Whether a run can be answered with the labels of its rig, and what a label stands for in it."""

from drills.engine.layout import Compartment, Layout
from drills.engine.printing import printable
from drills.engine.recipes import PLACE_KINDS
from drills.rigs.labels import labelled
from drills.rigs.models import PlaceLabel
from drills.runs.models import Run
from drills.scenarios.reading import layout_asked

NOT_PRACTICE = "Labels answer practice alone; assessed, an officer watches you at the open doors."
NOT_PLACES = "Labels answer where something lies, and nothing else; this drill asks for more."


def no_scan_because(run: Run) -> str:
    """Why the labels of its rig cannot answer a run; nothing where they can."""
    if not run.is_practice:
        return NOT_PRACTICE
    if not run.drill.is_all_of(PLACE_KINDS):
        return NOT_PLACES
    if run.rig is None:
        return "Choose the rig you stand at first; labels are those of one rig."
    layout = layout_asked(run.drill)
    bare = unlabelled(run, layout)
    if not bare:
        return ""
    shown = ", ".join(each.code for each in bare[:3])
    more = f" and {len(bare) - 3} more" if len(bare) > 3 else ""
    return f"Rig {run.rig.unit} has no label at {shown}{more}, where things are kept."


def unlabelled(run: Run, layout: Layout) -> list[Compartment]:
    """Places that hold something and may bear a label, and bear none on the rig of the run."""
    here = labelled(run.rig, layout).here if run.rig else {}
    may = printable(layout).compartments
    return [each for each in may if each.code in layout.lines_in and each.code not in here]


def place_of_label(label: PlaceLabel, layout: Layout) -> Compartment | None:
    """The place that bears a label, as the layout of a drill has it; none where it has it not."""
    if label.place.layout_id != label.rig.layout_id:
        return None
    return next((each for each in layout.compartments if each.key == label.place.key), None)
