"""The form of a workbook, told column by column, and two to start from."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from drills.engine.workbook import SAMPLE, blank_xlsx, guide, to_xlsx
from drills.engine.workbook.columns import FORMAT
from drills.people.access import Request
from drills.people.rendering import as_file
from drills.rigs.access import require_keeper


@require_GET
def workbook(request: Request) -> HttpResponse:
    """Every sheet and column with its meaning, what it takes, and an example."""
    require_keeper(request.user)
    return render(request, "rigs/workbook.html", {"format": FORMAT, "sheets": guide()})


@require_GET
def start_workbook(request: Request, which: str) -> HttpResponse:
    """An empty workbook, or that of the invented sample rig."""
    require_keeper(request.user)
    if which not in ("blank", "sample"):
        raise Http404("There is a blank workbook and a sample, and no other.")
    content = blank_xlsx() if which == "blank" else to_xlsx(SAMPLE)
    return as_file(content, f"layout-{which}.xlsx")
