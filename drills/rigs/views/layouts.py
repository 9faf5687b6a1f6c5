"""The drawing of a layout: looked over, searched, reached from a seat, opened door by door."""

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.engine.layout import Layout
from drills.engine.points import assumed_points
from drills.engine.workbook import to_xlsx, to_zip
from drills.people.access import Request
from drills.people.models import Role
from drills.people.rendering import as_file, page_or_part
from drills.rigs.access import JUDGES, KEEPERS, kept_revision, readable_revision, revision_to_ride
from drills.rigs.differences import difference as tell_apart
from drills.rigs.forms import LookForm
from drills.rigs.models import Revision, RevisionState
from drills.rigs.photographed import ShownPhoto, each_once, photos_by_code
from drills.rigs.reading import layout_of
from drills.rigs.reports import Ridden, as_ridden
from drills.rigs.showing import Contents, Look, contents_of, look_at, seats_of

LONGEST_NUMBER = 6
WRITERS = {"xlsx": to_xlsx, "zip": to_zip}


@require_GET
def layout(request: Request, slug: str) -> HttpResponse:
    """The revision that is ridden today, or is in force."""
    found = revision_to_ride(request.user, slug)
    return _drawing(request, found, as_ridden(request.user, found))


@require_GET
def revision(request: Request, slug: str, number: int) -> HttpResponse:
    """One revision of a layout, in force or not."""
    found = readable_revision(request.user, slug, number)
    return _drawing(request, found, Ridden(layout_of(found)))


@require_GET
def difference(request: Request, slug: str, number: int) -> HttpResponse:
    """What a revision changed, against the one before it or another that is named."""
    now = readable_revision(request.user, slug, number)
    named = request.GET.get("from", "")
    if named and not (named.isascii() and named.isdecimal() and len(named) <= LONGEST_NUMBER):
        raise Http404("A revision is named by its number.")
    before = readable_revision(request.user, slug, int(named)) if named else now.before
    others = now.layout.revisions.exclude(pk=now.pk).exclude(state=RevisionState.DRAFT)
    found = tell_apart(before, now, today=timezone.localdate())
    context = {
        "each": found,
        "others": others,
        "is_keeper": request.user.holds(*KEEPERS),
        "gives_drills": request.user.holds(Role.FTO, Role.EDUCATOR),
        "offers_moved": now.state == RevisionState.PUBLISHED and found.facts,
    }
    return render(request, "rigs/difference.html", context)


@require_GET
def export(request: Request, slug: str, number: int, kind: str) -> HttpResponse:
    """The workbook of a revision. It holds what is behind locks, so it is for keepers alone."""
    found = kept_revision(request.user, slug, number)
    if kind not in WRITERS:
        raise Http404("A revision is exported as .xlsx or as .zip.")
    return as_file(WRITERS[kind](layout_of(found)), f"{slug}-rev-{number}.{kind}")


def _drawing(request: Request, shown: Revision, ridden: Ridden) -> HttpResponse:
    found = ridden.layout
    context = {
        **_context(request, found),
        "revision": shown,
        "holds": _holds(found),
        "ridden": ridden,
    }
    context["photos"] = _photos(shown, found, context["look"])
    if context["is_keeper"] and context["contents"]:
        context["places_of_photos"] = _places(shown, context["contents"])
    coming = shown.layout.coming
    context["coming"] = coming if coming != shown else None
    return page_or_part(request, "rigs/layout.html", "rig", context)


def _context(request: Request, found: Layout) -> dict[str, Any]:
    form = LookForm(request.GET)
    form.is_valid()
    wanted = form.cleaned_data
    look: Look = look_at(
        found,
        find=wanted.get("find", ""),
        seat=wanted.get("seat", ""),
        opened=wanted.get("open", ""),
        face=wanted.get("face", ""),
    )
    return {
        "look": look,
        "contents": contents_of(found, look.open_code, found=look.found)
        if look.open_code
        else None,
        "seats": seats_of(found),
        "has_signs": any(face.signs for face in look.faces),
        "assumed": assumed_points(found),
        "is_keeper": request.user.holds(*KEEPERS),
        "judges": request.user.holds(*JUDGES),
    }


def _photos(shown: Revision, found: Layout, look: Look) -> list[ShownPhoto]:
    """Of the door that is opened and all behind it, else of what a search found."""
    codes = [each.code for each in look.found]
    if look.open_code:
        codes = [each.code for each in found.compartments if _is_behind(found, each.code, look)]
    by_code = photos_by_code(shown, codes, layout=found)
    return each_once(by_code.get(code) for code in codes)


def _places(shown: Revision, contents: Contents) -> list[tuple[str, int]]:
    """The places behind a door by name and row, for who keeps their photos."""
    rows = dict(shown.layout.places.values_list("key", "pk"))
    return [(each.block.label, rows[each.compartment.key]) for each in contents.places]


def _is_behind(found: Layout, code: str, look: Look) -> bool:
    return found.chain(code)[0].code == look.open_code


def _holds(found: Layout) -> dict[str, int]:
    bags = sum(each.is_bag for each in found.compartments)
    return {"compartments": len(found.compartments), "bags": bags, "lines": len(found.stock)}
