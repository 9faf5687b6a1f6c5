"""The manual, chapter by chapter."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from drills.boards.guide import chapter_of, chapters
from drills.people.access import Request


@require_GET
def guide(request: Request) -> HttpResponse:
    """The chapters, each with what it is for."""
    return render(request, "boards/guide.html", {"chapters": chapters()})


@require_GET
def chapter(request: Request, slug: str) -> HttpResponse:
    """One chapter."""
    found = chapter_of(slug)
    if found is None:
        names = ", ".join(each.slug for each in chapters())
        raise Http404(f"There is no chapter {slug}; there are {names}.")
    return render(request, "boards/chapter.html", {"chapter": found, "chapters": chapters()})
