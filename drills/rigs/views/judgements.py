"""A revision against a required list: on screen, on paper, and as a file."""

from typing import Any

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.people.access import Request
from drills.people.rendering import page_or_part
from drills.rigs.access import KEEPERS, readable_revision
from drills.rigs.models import RequiredList, Revision
from drills.rigs.required import Judgement, judgement_file_of, judgement_of, levels_of


@require_GET
def judgement(request: Request, slug: str, number: int) -> HttpResponse:
    """How a revision measures up: what is missing or short first, and where the rest lies."""
    revision = readable_revision(request.user, slug, number)
    lists = list(RequiredList.objects.all())
    found = _judgement(request, revision, lists)
    context: dict[str, Any] = {
        "revision": revision,
        "lists": lists,
        "found": found,
        "levels": levels_of(found.of) if found else [],
        "today": timezone.localdate(),
        "is_keeper": request.user.holds(*KEEPERS),
    }
    return page_or_part(request, "rigs/judgement.html", "judged", context)


@require_GET
def judgement_file(request: Request, slug: str, number: int) -> HttpResponse:
    """The same for a spreadsheet, without what is kept behind a lock."""
    revision = readable_revision(request.user, slug, number)
    found = _judgement(request, revision, list(RequiredList.objects.all()))
    if found is None:
        raise Http404("There is no required list yet.")
    content = judgement_file_of(found, today=timezone.localdate())
    response = HttpResponse(content, content_type="text/csv; charset=utf-8")
    name = f"{slug}-rev-{number}-{found.of.slug}.csv"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _judgement(request: Request, revision: Revision, lists: list[RequiredList]) -> Judgement | None:
    """Against the list and the levels that were chosen, else the first of each.

    The agency's own lists go before the samples.
    """
    named = request.GET.get("list", "")
    chosen = [each for each in lists if each.slug == named]
    if named and not chosen:
        raise Http404("There is no required list of that name.")
    first = sorted(lists, key=lambda each: each.is_sample)[:1]
    for of in chosen or first:
        known = levels_of(of)
        wanted = [level for level in known if level in request.GET.getlist("level")]
        return judgement_of(of, revision, wanted or known[:1])
    return None
