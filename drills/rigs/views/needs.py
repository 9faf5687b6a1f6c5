"""The needs that calls speak in: looked through, added to, and what each change would tie."""

from collections.abc import Collection
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.layout import CATEGORIES
from drills.people.access import Request
from drills.people.rendering import go_to
from drills.rigs.access import require_keeper
from drills.rigs.actions.needs import add_need as add
from drills.rigs.actions.needs import change_need, give_aliases, put_into
from drills.rigs.models import OWN_PREFIX, FurtherAliases, ItemTerms, Need, RevisionState
from drills.rigs.needing import WHOSE, AliasesForm, FindNeedForm, NeedForm, written
from drills.rigs.retying import Retie, digest_of, reties, shared_words
from drills.rigs.ties import worded_needs

ON_A_PAGE = 40
OTHERWISE = "What this changes is not what was shown. Look again, then store it."


@require_GET
def needs(request: Request) -> HttpResponse:
    """The needs that are looked for, some at a time."""
    require_keeper(request.user)
    form, every = FindNeedForm(request.GET), worded_needs()
    found = form.found(every)
    context = {
        "wanted": form.cleaned_data,
        "count": len(found),
        "of": len(every),
        "page": Paginator(found, ON_A_PAGE).get_page(request.GET.get("page")),
        "categories": CATEGORIES,
        "whose": WHOSE.items(),
    }
    return render(request, "rigs/needs.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def add_need(request: Request) -> HttpResponse:
    """A need of the agency's own: what it would tie, then stored."""
    require_keeper(request.user)
    every = worded_needs()
    if request.method != "POST":
        return _page(request, None, NeedForm())
    form = NeedForm(request.POST, needs=every)
    if not form.is_valid():
        return _page(request, None, form, status=422)
    shown = _shown(put_into(Need(key=OWN_PREFIX), form.said()), every)
    if not _is_seen(request, shown):
        return _page(request, None, form, shown=shown, **_again(request))
    need, found = add(form.said(), by=request.user, now=timezone.now())
    messages.success(request, f"{need} is a need now. {_tied_words(found)}")
    return go_to(request, reverse("rigs:need", args=[need.key]))


@require_http_methods(["GET", "HEAD", "POST"])
def need(request: Request, key: str) -> HttpResponse:
    """One need: all of it where it is the agency's own, else what else it is called here."""
    require_keeper(request.user)
    every = worded_needs()
    found = next((each for each in every if each.key == key), None)
    if found is None:
        raise Http404("There is no need of that key.")
    form = _form_of(request, found, every)
    if request.method != "POST":
        return _page(request, found, form)
    if not form.is_valid():
        return _page(request, found, form, status=422)
    shown = _shown(_as_said(found, form), every)
    if not _is_seen(request, shown):
        return _page(request, found, form, shown=shown, **_again(request))
    if isinstance(form, NeedForm):
        tied = change_need(found, form.said(), by=request.user, now=timezone.now())
    else:
        words = form.cleaned_data["aliases"]
        tied = give_aliases(found, words, by=request.user, now=timezone.now())
    messages.success(request, f"Stored. {_tied_words(tied)}")
    return go_to(request, reverse("rigs:need", args=[key]))


def _form_of(request: Request, found: Need, every: Collection[Need]) -> AliasesForm:
    given = request.POST if request.method == "POST" else None
    if found.is_own:
        return NeedForm(given, initial=written(found), of=found, needs=every)
    kept: FurtherAliases | None = getattr(found, "further", None)
    return AliasesForm(given, initial={"aliases": "; ".join(kept.words if kept else ())}, of=found)


def _as_said(found: Need, form: AliasesForm) -> Need:
    """The need in memory as the form says it; the others are read beside it."""
    if isinstance(form, NeedForm):
        return put_into(found, form.said())
    found.further = FurtherAliases(words=list(form.cleaned_data["aliases"]))
    return found


def _shown(said: Need, every: list[Need]) -> dict[str, Any]:
    """What a need as it is said would tie on drafts, and the words it shares with others."""
    others = [each for each in every if each.key != said.key]
    changes = reties([*others, said])
    return {
        "changes": changes,
        "digest": digest_of(changes),
        "shared": shared_words(said, others),
    }


def _is_seen(request: Request, shown: dict[str, Any]) -> bool:
    seen: str = request.POST.get("seen", "")
    return bool(seen == shown["digest"])


def _again(request: Request) -> dict[str, Any]:
    """Who stored what was not shown is told so; who asks what changes is not at fault."""
    return {"fault": OTHERWISE, "status": 422} if "seen" in request.POST else {}


def _tied_words(found: list[Retie]) -> str:
    return f"{len(found)} item{'' if len(found) == 1 else 's'} of drafts tied otherwise."


def _page(
    request: Request,
    found: Need | None,
    form: AliasesForm,
    *,
    shown: dict[str, Any] | None = None,
    fault: str = "",
    status: int = 200,
) -> HttpResponse:
    context = {
        "need": Need.objects.get(pk=found.pk) if found else None,
        "form": form,
        "is_whole": isinstance(form, NeedForm),
        "shown": shown,
        "fault": fault,
        "tied": _tied_to(found) if found else [],
    }
    return render(request, "rigs/need.html", context, status=status)


def _tied_to(found: Need) -> list[ItemTerms]:
    """The items of drafts and of what is in force that are tied to a need."""
    rows = ItemTerms.objects.exclude(revision__state=RevisionState.RETIRED)
    by_rule = rows.filter(need=found)
    by_keeper = rows.filter(need=None, item__decision__need=found)
    return list(
        (by_rule | by_keeper).select_related("revision__layout").order_by("name", "revision")
    )
