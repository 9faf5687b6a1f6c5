"""A draft changed by hand: drawn, and what is chosen on it as a form beside it."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.engine.drawing import FaceDrawing, faces, opened
from drills.engine.layout import Layout
from drills.engine.rows import (
    PLACES,
    POINTS,
    STOCK,
    EditError,
    MeanwhileError,
    cells_of,
    mark_of,
    mark_of_all,
)
from drills.people.access import Request
from drills.people.models import Person
from drills.people.rendering import go_to, page_or_part, post_alone, wants_part
from drills.rigs import actions
from drills.rigs.access import kept_layout
from drills.rigs.deeds import SHIFTS, Deed, read_deed
from drills.rigs.fields import fields_of, label_of
from drills.rigs.models import Item, Revision
from drills.rigs.models import Layout as LayoutRow
from drills.rigs.reading import layout_of

STEPS_SHOWN = 10


@dataclass
class Desk:
    """Everything the page is made from. What was refused keeps its cells, and says why."""

    row: LayoutRow
    draft: Revision
    asked: QueryDict
    deed: Deed | None = None
    faults: dict[str, str] = field(default_factory=dict)
    meanwhile: dict[str, str] | None = None

    @cached_property
    def layout(self) -> Layout:
        """What the draft says, read when the page is made."""
        return layout_of(self.draft)

    @property
    def chosen(self) -> tuple[str, str]:
        """The sheet and the name of the row that is shown; no name is a new one."""
        if self.deed and self.deed.sheet:
            return self.deed.sheet, self.deed.name
        for key, sheet in (("line", STOCK), ("point", POINTS), ("at", PLACES)):
            if name := self.asked.get(key, ""):
                return sheet, name
        new = self.asked.get("new", "")
        return (new if new in (PLACES, POINTS) else ""), ""

    @property
    def cells(self) -> dict[str, str]:
        """The row as it stands, or as it would begin, under what was sent and refused."""
        sheet, name = self.chosen
        if not sheet:
            return {}
        begun = {key: self.asked.get(key, "") for key in ("face", "inside", "x", "y")}
        stands = cells_of(self.layout, sheet, name) if name else begun
        return stands | dict(self.deed.cells if self.deed else {})

    @property
    def code(self) -> str:
        """The compartment that is chosen, or that holds the line that is."""
        sheet, name = self.chosen
        if sheet == STOCK:
            return name.partition("/")[0] or self.asked.get("compartment", "")
        return name if sheet == PLACES else ""

    @property
    def face(self) -> str:
        """The face of the point that is chosen, or the one that was asked for."""
        sheet, name = self.chosen
        here = (each.face for each in self.layout.points if sheet == POINTS and each.code == name)
        return next(here, self.asked.get("face", ""))


@require_GET
def draft(request: Request, slug: str) -> HttpResponse:
    """The draft of a layout; where there is none, what opening one would copy."""
    row = kept_layout(request.user, slug)
    if (found := row.draft) is None:
        context = {"layout": row, "current": row.coming or row.published}
        return page_or_part(request, "rigs/draft.html", "desk", context)
    return _page(request, Desk(row, found, request.GET))


@post_alone
def open_draft(request: Request, slug: str) -> HttpResponse:
    """Copy the revision in force, unless a draft is open already."""
    row = kept_layout(request.user, slug)
    try:
        actions.open_draft(row, by=request.user, now=timezone.now())
    except ValueError as refused:
        messages.error(request, str(refused))
    return go_to(request, reverse("rigs:draft", args=[slug]))


@post_alone
def edit(request: Request, slug: str, deed: str) -> HttpResponse:
    """Do one thing to the draft; what is refused is shown with its fault and changes nothing."""
    row = kept_layout(request.user, slug)
    done = read_deed(deed, request.POST.dict())
    if done is None:
        raise Http404("There is no such thing to do to a draft.")
    found = row.draft
    if found is None or request.POST.get("rev", str(found.number)) != str(found.number):
        return _gone(request, row)
    desk = Desk(row, found, request.POST, done)
    try:
        _do(desk, done, by=request.user)
    except actions.DraftGoneError:
        return _gone(request, row)
    if desk.faults or desk.meanwhile is not None:
        return _page(request, desk, status=422)
    return _shown(request, row, done.shown)


def _do(desk: Desk, done: Deed, *, by: Person) -> None:
    """Do it, or keep on the desk why not."""
    try:
        actions.edit_draft(
            desk.row,
            done.change,
            seen=desk.draft,
            joins=done.is_move,
            by=by,
            now=timezone.now(),
        )
    except EditError as refused:
        desk.faults = refused.faults
    except MeanwhileError as other:
        desk.meanwhile = other.now


@post_alone
def undo(request: Request, slug: str) -> HttpResponse:
    """Take back the last step, if it is the one that was seen."""
    row = kept_layout(request.user, slug)
    number = request.POST.get("step", "")
    step = int(number) if number.isascii() and number.isdecimal() and len(number) < 9 else 0
    try:
        undone = actions.undo_step(row, step, by=request.user, now=timezone.now())
        messages.success(request, f"Taken back: {undone.what}.")
    except actions.NothingToUndoError as refused:
        messages.error(request, f"{refused} Nothing is taken back.")
    back = {key: request.POST[key] for key in ("at", "point") if request.POST.get(key)}
    return go_to(request, f"{reverse('rigs:draft', args=[slug])}?{_query(back).urlencode()}")


def _gone(request: Request, row: LayoutRow) -> HttpResponse:
    messages.info(request, "The draft is published or discarded meanwhile. Nothing is stored.")
    return go_to(request, reverse("rigs:draft", args=[row.slug]))


def _shown(request: Request, row: LayoutRow, shown: Any) -> HttpResponse:
    """What became of it: a fragment at once, a page by way of its address."""
    query = _query(shown)
    address = f"{reverse('rigs:draft', args=[row.slug])}?{query.urlencode()}"
    found = row.draft
    if not wants_part(request) or found is None:
        return redirect(address)
    response = _page(request, Desk(row, found, query))
    response["HX-Push-Url"] = address
    return response


def _query(shown: Any) -> QueryDict:
    query = QueryDict(mutable=True)
    query.update(dict(shown))
    return query


def _page(request: Request, desk: Desk, *, status: int = 200) -> HttpResponse:
    sheet, name = desk.chosen
    layout, cells = desk.layout, desk.cells
    is_gone = bool(name) and not cells_of(layout, sheet, name)
    drawn = faces(layout, value_of=str)
    context: dict[str, Any] = {
        "layout": desk.row,
        "revision": desk.draft,
        "steps": desk.draft.steps.select_related("changed_by")[:STEPS_SHOWN],
        "faces": drawn,
        "sides": [_side(face, layout) for face in drawn],
        "sheet_name": sheet,
        "name": name,
        "is_gone": is_gone,
        "fields": fields_of(sheet, layout, cells, desk.faults) if sheet and not is_gone else [],
        "mark": mark_of(cells_of(layout, sheet, name)) if name else "",
        "faults": _other_faults(desk),
        "is_meanwhile": desk.meanwhile is not None,
        "theirs": _theirs(desk),
        "is_taken_out": desk.meanwhile == {},
        "shifts": SHIFTS,
        "points": layout.points,
        "items": () if wants_part(request) else Item.objects.values_list("name", flat=True),
        "pasted": desk.deed.cells.get("rows", "") if desk.deed else "",
        **_place(desk, drawn),
    }
    return page_or_part(request, "rigs/draft.html", "desk", context, status=status)


def _place(desk: Desk, drawn: tuple[FaceDrawing, ...]) -> dict[str, Any]:
    """What the page says of the compartment that is chosen, or holds the line that is."""
    layout, code = desk.layout, desk.code
    if code not in layout.by_code:
        return {"shown": _known(drawn, desk.face), "compartment": None}
    here, chain = layout.by_code[code], layout.chain(code)
    return {
        "compartment": here,
        "rect": [(side, getattr(here.rect, side)) for side in ("x", "y", "w", "h") if here.rect],
        "chain": chain,
        "top": chain[0].code,
        "block": opened(layout, chain[0].code),
        "children": layout.children.get(code, ()),
        "lines": [(line, f"{code}/{line.key}") for line in layout.lines_in.get(code, ())],
        "whole_mark": mark_of_all(layout, code),
        "lines_inside": sum(here in layout.chain(line.compartment) for line in layout.stock),
        "shown": _known(drawn, layout.face_of(code)),
    }


def _side(face: FaceDrawing, layout: Layout) -> dict[str, Any]:
    """A face with the points on it: those that are drawn as what they are, and those as dots."""
    here = {point.name: point for point in layout.points if point.face == face.key}
    drawn = {fixed.name for fixed in face.fixed}
    return {
        "face": face,
        "fixed": [(fixed, here.get(fixed.name)) for fixed in face.fixed],
        "dots": [point for name, point in here.items() if name not in drawn],
    }


def _known(drawn: tuple[FaceDrawing, ...], face: str) -> str:
    """The face a phone shows: the one that is meant, else the first."""
    keys = [each.key for each in drawn]
    return next((key for key in (face, *keys) if key in keys), "")


def _other_faults(desk: Desk) -> list[str]:
    """What is wrong with no field that is shown."""
    shown = {each.column for each in fields_of(desk.chosen[0], desk.layout, {}, {})}
    return [said for column, said in desk.faults.items() if column not in shown]


def _theirs(desk: Desk) -> list[tuple[str, str, str]]:
    """Where the row is another by now: column, as it was sent, as it stands."""
    if not desk.meanwhile or desk.deed is None:
        return []
    sent = desk.deed.cells
    return [
        (label_of(desk.chosen[0], desk.layout, column), sent[column], now)
        for column, now in desk.meanwhile.items()
        if column in sent and " ".join(sent[column].split()) != " ".join(now.split())
    ]
