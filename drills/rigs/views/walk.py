"""The study walk: once round the rig, door by door."""

from collections.abc import Collection

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from drills.engine.drawing import FaceDrawing, faces, mark_cells
from drills.engine.layout import FACE_NAMES
from drills.engine.plan import plan_of
from drills.engine.signs import with_signs
from drills.engine.study import study_walk
from drills.people.access import Request
from drills.rigs.access import revision_to_ride
from drills.rigs.models import Revision
from drills.rigs.reports import Ridden, as_ridden
from drills.rigs.showing import contents_of


@require_GET
def walk(request: Request, slug: str, code: str = "") -> HttpResponse:
    """All doors in the order of the walk, or one of them opened."""
    revision = revision_to_ride(request.user, slug)
    ridden = as_ridden(request.user, revision)
    return _door(request, revision, ridden, code) if code else _doors(request, revision, ridden)


def _doors(request: Request, revision: Revision, ridden: Ridden) -> HttpResponse:
    layout = ridden.layout
    doors = [
        (each, FACE_NAMES[layout.face_of(each.code)], contents_of(layout, each.code).count)
        for each in study_walk(layout)
    ]
    return render(
        request, "rigs/walk.html", {"revision": revision, "doors": doors, "ridden": ridden}
    )


def _door(request: Request, revision: Revision, ridden: Ridden, code: str) -> HttpResponse:
    layout = ridden.layout
    order = [each.code for each in study_walk(layout)]
    if code not in order:
        raise Http404("There is no door of that code on this layout.")
    at = order.index(code)
    marked = [mark_cells(face, found={code: at + 1}) for face in faces(layout, value_of=str)]
    drawn = with_signs(marked, layout)
    context = {
        "revision": revision,
        "ridden": ridden.behind(code),
        "door": layout.by_code[code],
        "contents": contents_of(layout, code),
        "here": _openings(drawn, layout.face_of(code), code),
        "plan": plan_of(drawn),
        "number": at + 1,
        "total": len(order),
        "before": order[at - 1] if at else "",
        "after": order[at + 1] if at + 1 < len(order) else "",
    }
    return render(request, "rigs/walk.html", context)


def _openings(drawn: Collection[FaceDrawing], first: str, code: str) -> list[FaceDrawing]:
    """The faces at which a door opens, its own before the other one."""
    return sorted((f for f in drawn if code in f.codes), key=lambda face: face.key != first)
