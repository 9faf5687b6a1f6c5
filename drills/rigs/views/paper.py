"""A layout on paper: each face on a page of its own, then what belongs in which place."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.engine.drawing import faces
from drills.engine.layout import FACE_NAMES
from drills.engine.plan import plan_of
from drills.engine.printing import printable
from drills.engine.signs import with_signs
from drills.engine.study import study_walk
from drills.people.access import Request
from drills.rigs.access import readable_revision
from drills.rigs.reading import layout_of
from drills.rigs.showing import contents_of


@require_GET
def paper(request: Request, slug: str, number: int) -> HttpResponse:
    """A page of its own, since the drawing on screen has one cabinet open and paper all of them."""
    revision = readable_revision(request.user, slug, number)
    layout = printable(layout_of(revision))
    drawn = with_signs(faces(layout, value_of=str), layout)
    context = {
        "revision": revision,
        "faces": drawn,
        "plan": plan_of(drawn),
        "cabinets": [
            (FACE_NAMES[layout.face_of(each.code)], contents_of(layout, each.code))
            for each in study_walk(layout)
        ],
        "today": timezone.localdate(),
    }
    return render(request, "rigs/paper.html", context)
