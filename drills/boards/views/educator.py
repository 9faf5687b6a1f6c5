"""What the cohort misses, as a page and as a file for a spreadsheet."""

from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.boards.choosing import EVIDENCE, PERIODS, Choice, ChoiceForm
from drills.boards.educator import Board, board_of
from drills.boards.exporting import csv_of
from drills.boards.flags import flags_of
from drills.boards.instead import Instead, instead_of
from drills.boards.offers import offers_to
from drills.boards.slipped import slips_of
from drills.boards.together import together_of
from drills.competency.expecting import comes_with_the_next_refit
from drills.engine.medicines import SAFETY_WORDS
from drills.formulary.waiting import set_anew, waits_for
from drills.people.access import Request, closed_while_assessed, require_role
from drills.people.audit import record
from drills.people.models import Role
from drills.people.rendering import page_or_part
from drills.runs.access import contests_waiting

MOST_SHOWN = 10


@require_GET
def educator(request: Request) -> HttpResponse:
    """What everybody misses, for the people, layout, period and evidence that were chosen."""
    form, choice = _choose(request)
    context = _context(request, form)
    if choice is not None:
        board = board_of(choice)
        instead, flags = _instead(form, board, choice), flags_of(board, choice)
        things = board.things[:MOST_SHOWN]
        context |= {
            "choice": choice,
            "board": board,
            "instead": instead,
            "slips": slips_of(board),
            "flags": flags,
            "waits_for_refit": flags is None and comes_with_the_next_refit(),
            "things": things,
            "things_left": len(board.things) - len(things),
            "together": together_of(
                choice, board.layout, things, flags, instead, now=timezone.now()
            ),
        }
    status = 422 if form.errors else 200
    return page_or_part(request, "boards/educator.html", "missed", context, status=status)


@require_GET
def educator_csv(request: Request) -> HttpResponse:
    """What the page shows for the same choice; who took it along is kept in the audit."""
    form, choice = _choose(request)
    board = board_of(choice) if choice else None
    instead = _instead(form, board, choice) if board and choice else None
    if board is None or choice is None or form.errors:
        template = "boards/educator.html"
        return page_or_part(request, template, "missed", _context(request, form), status=422)
    content = csv_of(choice, board, instead)
    now = timezone.now()
    record(
        "export most missed",
        f"{choice.revision}, {choice.cohort_words}"[:160],
        by=request.user,
        now=now,
        after={
            "period": choice.period_words,
            "evidence": choice.evidence_words,
            "fact": choice.fact,
            "rows": len(board.things) + len(board.skills),
        },
    )
    response = HttpResponse(content, content_type="text/csv; charset=utf-8")
    name = f"most-missed-{choice.revision.layout.slug}-{timezone.localdate(now)}.csv"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _choose(request: Request) -> tuple[ChoiceForm, Choice | None]:
    """The form as it came in, and the choice where it can be taken; for an educator alone."""
    closed_while_assessed(request.user)
    require_role(request.user, Role.EDUCATOR)
    form = ChoiceForm(request.GET, today=timezone.localdate())
    return form, form.choice() if form.is_valid() else None


def _context(request: Request, form: ChoiceForm) -> dict[str, Any]:
    """What the page takes whatever was chosen."""
    return {
        "form": form,
        "periods": PERIODS,
        "kinds": EVIDENCE,
        "safety_words": SAFETY_WORDS,
        "contests": contests_waiting(request.user),
        "offers": offers_to(request.user, now=timezone.now()),
        "waits": waits_for(request.user),
        "set_anew": set_anew(request.user),
    }


def _instead(form: ChoiceForm, board: Board, choice: Choice) -> Instead | None:
    """Where the fact that was chosen is looked for; the weakest where none was."""
    if not choice.fact:
        return instead_of(board, board.weakest) if board.weakest else None
    row = next((each for each in board.things if str(each.fact) == choice.fact), None)
    if row is None:
        form.add_error(
            "fact",
            f"{choice.fact[:60]!r} is not among what this choice misses; "
            "a row of the table below is accepted.",
        )
        return None
    return instead_of(board, row)
