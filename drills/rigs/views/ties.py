"""Needs and ties: what no rule ties waits here for its keeper."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.engine.suggestions import SURE_FROM
from drills.people.access import Request
from drills.people.rendering import go_to
from drills.rigs.access import kept_layout
from drills.rigs.actions import count_pack
from drills.rigs.models import MOST_IN_A_PACK, ItemTerms, Layout, Need, Revision, TieDecision
from drills.rigs.strengths import NearNeed, near_needs, own_of
from drills.rigs.tied import TiedLine, read_pack, tied_lines
from drills.rigs.ties import (
    Suggested,
    Tie,
    confirmed_ties,
    decision_on,
    not_tied,
    open_revisions,
    suggested,
    sure_ones,
    terms_of,
    tied_twice,
    worded_needs,
)
from drills.rigs.tying import (
    ACROSS,
    CHOICE,
    LATER,
    NONE,
    OTHER,
    OWN,
    WORDS,
    Answers,
    Word,
    decide_ties,
    read_answers,
)

# A page sends two fields for each item, and stays short enough to read.
WAITING_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Question:
    """An item to decide on, with what it may be and what came in for it."""

    terms: ItemTerms
    suggestions: list[Suggested]
    near: list[NearNeed]
    choice: str = LATER
    words: str = ""
    fault: str = ""
    apart: Word | None = None

    @property
    def decision(self) -> TieDecision | None:
        return decision_on(self.terms)

    @property
    def own_strengths(self) -> list[tuple[str, str, str, str]]:
        """What may be chosen of medicines in a strength of their own: the value, whether it is a
        strength or the size of a fluid, the medicine, and the strength in words."""
        packing = own_of(self.terms)
        medicines = {each.need.medicine for each in self.near}
        if self.apart and self.apart.need:
            medicines.add(self.apart.need.medicine)
        return [
            (
                f"{OWN}{medicine}",
                "size" if packing.is_fluid else "strength",
                medicine.replace("-", " "),
                packing.strength,
            )
            for medicine in sorted(medicines)
            if packing is not None
        ]


@dataclass
class Desk:
    """Everything the page is made from, read once."""

    layout: Layout
    again: str = ""
    pack: str = ""
    posted: QueryDict = field(default_factory=QueryDict)
    answers: Answers = field(default_factory=Answers)

    def __post_init__(self) -> None:
        self.revisions: list[Revision] = open_revisions(self.layout)
        self.needs: list[Need] = worded_needs()
        self.rows: list[ItemTerms] = terms_of(*self.revisions)

    @cached_property
    def newest(self) -> list[ItemTerms]:
        """What the items of the newest revision are called."""
        return terms_of(self.revisions[0]) if self.revisions else []

    @cached_property
    def ties(self) -> dict[str, Tie]:
        """What is tied in the newest revision."""
        return confirmed_ties(self.newest, self.needs)

    @property
    def lines(self) -> list[TiedLine]:
        """The items of the newest revision that are tied or decided on."""
        return tied_lines(self.newest, self.ties, {need.key: need for need in self.needs})

    @property
    def open_rows(self) -> list[ItemTerms]:
        """What a keeper may decide on: all that no rule ties."""
        return [row for row in self.rows if row.need_id is None]

    @property
    def asked(self) -> list[ItemTerms]:
        """What is not decided yet, and what is to be decided again first of all."""
        again = [row for row in self.open_rows if self._is_again(row)]
        return again + [
            row for row in self.open_rows if decision_on(row) is None and row not in again
        ]

    def choice_of(self, row: ItemTerms) -> str:
        """What was chosen for an item; a need in words is *another need*, whoever ticked that."""
        chosen = self.posted.get(f"{CHOICE}{row.item_id}", LATER)
        return OTHER if chosen == LATER and row.item_id in self.answers.apart else chosen

    def is_by_itself(self, item: int) -> bool:
        """Whether an item is asked for by its keeper, or an answer came in for it."""
        return str(item) == self.again or item in self.answers.about

    def _is_again(self, row: ItemTerms) -> bool:
        """Whether it stands before all that waits: chosen for it, or not kept as it came in."""
        is_first = str(row.item_id) == self.again or decision_on(row) is not None
        refused = {*self.answers.faults, *self.answers.apart}
        return row.item_id in refused or (is_first and self.is_by_itself(row.item_id))


@require_http_methods(["GET", "HEAD", "POST"])
def ties(request: Request, slug: str) -> HttpResponse:
    """The items that wait with their suggestions, many decided at once; and what is tied."""
    layout = kept_layout(request.user, slug)
    desk = Desk(layout, request.GET.get("again", ""), request.GET.get("pack", ""))
    if request.method != "POST":
        return _page(request, desk)
    desk.posted = request.POST
    if "pack" in request.POST:
        return _counted(request, desk)
    desk.answers = read_answers(request.POST.dict(), desk.open_rows, desk.needs)
    if fault := desk.answers.fault:
        return _page(request, desk, fault=fault, status=422)
    new = decide_ties(desk.answers.decided, by=request.user, now=timezone.now())
    messages.success(request, f"{new} item{'' if new == 1 else 's'} decided, on every layout.")
    return go_to(request, reverse("rigs:ties", args=[slug]))


def _counted(request: Request, desk: Desk) -> HttpResponse:
    """How many one of an item is: kept, or asked again with what is wrong."""
    desk.pack = request.POST["pack"]
    try:
        found = read_pack(request.POST.dict(), desk.lines)
    except ValueError as refused:
        return _page(request, desk, fault=str(refused), status=422)
    line, terms = found.line, found.line.terms
    count_pack(
        terms.item,
        need=line.key,
        unit=terms.unit,
        holds=found.holds,
        by=request.user,
        now=timezone.now(),
    )
    messages.success(request, f"One {line.unit} of {terms.name} is {found.holds}, on every layout.")
    return go_to(request, f"{reverse('rigs:ties', args=[desk.layout.slug])}#pack-{terms.item_id}")


@dataclass(frozen=True, slots=True)
class Asked:
    """What a page asks: item by item, and of many at once whether they are what is likest."""

    questions: list[Question]
    sure: list[tuple[ItemTerms, Suggested]]


def _page(request: Request, desk: Desk, *, fault: str = "", status: int = 200) -> HttpResponse:
    asked = desk.asked
    asks = _asks(desk, asked[:WAITING_SHOWN])
    context = {
        "layout": desk.layout,
        "needs": desk.needs,
        "waiting": sum(decision_on(row) is None for row in desk.open_rows),
        "more": max(0, len(asked) - WAITING_SHOWN),
        "questions": asks.questions,
        "sure": asks.sure,
        "sure_from": round(SURE_FROM * 100),
        "fault": fault,
        "answers": desk.answers,
        "later": LATER,
        "other": OTHER,
        "none": NONE,
        "across": ACROSS,
        "pack": desk.pack,
        "posted": desk.posted.get("holds", ""),
        "most": MOST_IN_A_PACK,
        **_tied(desk),
    }
    return render(request, "rigs/ties.html", context, status=status)


def _asks(desk: Desk, rows: list[ItemTerms]) -> Asked:
    """What is answered in many ways is asked by itself, and so is what an answer came in for."""
    names = {row.item.key: row.name for row in desk.rows}
    ties = confirmed_ties(desk.rows, desk.needs)
    others = {names[item]: tie for item, tie in ties.items()}
    found, near = suggested(rows, desk.needs, others), near_needs(rows, desk.needs)
    sure = {item: each for item, each in sure_ones(found).items() if not desk.is_by_itself(item)}
    questions = [
        Question(
            row,
            found[row.item_id],
            near[row.item_id],
            choice=desk.choice_of(row),
            words=desk.posted.get(f"{WORDS}{row.item_id}", ""),
            fault=desk.answers.faults.get(row.item_id, ""),
            apart=desk.answers.apart.get(row.item_id),
        )
        for row in rows
        if row.item_id not in sure
    ]
    return Asked(questions, [(row, sure[row.item_id]) for row in rows if row.item_id in sure])


def _tied(desk: Desk) -> dict[str, Any]:
    """What is tied in the newest revision, by which rule, and what is tied twice."""
    if not desk.revisions:
        return {}
    needs = {need.key: need for need in desk.needs}
    names = {row.item.key: row.name for row in desk.newest}
    twice = [
        (needs[need], [names[item] for item in items])
        for need, items in tied_twice(desk.ties).items()
    ]
    lines = desk.lines
    return {
        "revision": desk.revisions[0],
        "tied": lines,
        "apart": [line for line in lines if line.strengths],
        "twice": twice,
        "not_tied": not_tied(desk.ties, desk.needs),
    }
