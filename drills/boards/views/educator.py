"""What the cohort misses."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.boards.educator import most_missed
from drills.competency.reports import cohort_facts
from drills.people.access import Request, closed_while_assessed, require_role
from drills.people.models import Role
from drills.rigs.models import Layout


@require_GET
def educator(request: Request) -> HttpResponse:
    """What everybody misses, by layout."""
    closed_while_assessed(request.user)
    require_role(request.user, Role.EDUCATOR)
    layouts = list(Layout.objects.filter(revisions__state="published"))
    answers = {each.pk: _first_answers(each) for each in layouts}
    chosen = next((each for each in layouts if each.slug == request.GET.get("layout")), None)
    chosen = chosen or max(layouts, key=lambda each: answers[each.pk], default=None)
    revision = chosen.published if chosen else None
    context = {
        "layouts": [(each, answers[each.pk]) for each in layouts],
        "chosen": chosen,
        "revision": revision,
        "rows": most_missed(revision, now=timezone.now()) if revision else [],
    }
    return render(request, "boards/educator.html", context)


def _first_answers(layout: Layout) -> int:
    facts = cohort_facts(layout, now=timezone.now())
    return sum(each.estimate.first_answers for each in facts)
