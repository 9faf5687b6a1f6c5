"""What a browser shows of runs where it has no signal."""

from pathlib import Path

from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

WORKER = "drills/without-signal.js"


@login_not_required
@require_GET
def no_signal(request: HttpRequest) -> HttpResponse:
    """The page that a browser keeps to show in place of any other: it knows of nobody."""
    return render(request, "runs/no_signal.html")


@login_not_required
@require_GET
def without_signal(request: HttpRequest) -> HttpResponse:
    """The script between pages and network, at an address from which it may serve those of runs."""
    content = Path(str(finders.find(WORKER))).read_bytes()
    return HttpResponse(content, content_type="text/javascript; charset=utf-8")
