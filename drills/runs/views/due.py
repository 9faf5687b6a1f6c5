"""What is due, elsewhere: a calendar that a phone subscribes to, and mail."""

from smtplib import SMTPException

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_GET, require_http_methods

from drills.people.access import Request, closed_while_assessed
from drills.people.rendering import post_alone
from drills.runs.actions import confirm_address as confirm
from drills.runs.actions import (
    forget_letter,
    is_confirmed,
    make_feed,
    revoke_feed,
    set_reminders,
    waits_for,
)
from drills.runs.due import ask_to_confirm, calendar_of, mail_hours, mails, person_of_feed
from drills.runs.models import CalendarFeed, ReminderAddress

CALENDAR = "text/calendar; charset=utf-8"


@login_not_required
@require_GET
def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """What is due to whom the address belongs; nothing of how they did, and nothing of any rig."""
    person = person_of_feed(token)
    if person is None:
        raise Http404
    today = timezone.localdate()
    content = calendar_of(person, today=today, home=request.build_absolute_uri("/"))
    return HttpResponse(content, content_type=CALENDAR)


@require_http_methods(["GET", "HEAD", "POST"])
def due(request: Request) -> HttpResponse:
    """One's own calendar and mail; posting sets the address for mail."""
    closed_while_assessed(request.user)
    if request.method != "POST":
        return _page(request)
    address = request.POST.get("address", "")
    if not mails():
        return _page(request, fault="This service sends no mail.", typed=address)
    try:
        token = set_reminders(request.user, address, now=timezone.now())
        if token:
            _write(request, token, address.strip())
    except ValueError as error:
        return _page(request, fault=str(error), typed=address)
    messages.success(request, _said(address.strip(), token))
    return redirect("runs:due")


def _write(request: Request, token: str, address: str) -> None:
    """Send the letter that asks to confirm; `ValueError` where it does not go."""
    link = request.build_absolute_uri(reverse("runs:confirm_address", args=[token]))
    try:
        ask_to_confirm(address, link)
    except (SMTPException, OSError):
        forget_letter(token)
        raise ValueError(
            f"The letter to {address} did not go. Look whether it is written right, and send it "
            "again."
        ) from None


def _said(address: str, token: str) -> str:
    if token:
        return f"A letter is on its way to {address}. Open the link in it within two days."
    return f"You are written to at {address} already." if address else "No mail any more."


@login_not_required
@never_cache
@sensitive_variables("token")
@require_http_methods(["GET", "HEAD", "POST"])
def confirm_address(request: HttpRequest, token: str) -> HttpResponse:
    """Confirm an address by the link of its letter: by pressing, since mail is opened by scanners
    as well. The link alone is enough, on whatever device it is opened."""
    now = timezone.now()
    is_done = request.method == "POST" and confirm(token, now=now)
    waits = waits_for(token, now=now) is not None
    status = 200 if is_done or waits else 404
    return render(
        request, "runs/confirm_address.html", {"is_done": is_done, "waits": waits}, status=status
    )


@sensitive_variables("token", "address")
@post_alone
def make_calendar(request: Request) -> HttpResponse:
    """Give one's calendar an address, shown this once."""
    closed_while_assessed(request.user)
    token = make_feed(request.user, now=timezone.now())
    address = request.build_absolute_uri(reverse("runs:calendar", args=[token]))
    return _page(request, address=address)


@post_alone
def revoke_calendar(request: Request) -> HttpResponse:
    """Let the address of one's calendar lead nowhere."""
    closed_while_assessed(request.user)
    if revoke_feed(request.user, now=timezone.now()):
        messages.success(request, "That address leads nowhere any more.")
    return redirect("runs:due")


def _page(request: Request, *, address: str = "", fault: str = "", typed: str = "") -> HttpResponse:
    kept = ReminderAddress.objects.filter(person=request.user).first()
    context = {
        "feed": CalendarFeed.objects.filter(person=request.user).first(),
        "address": address,
        "fault": fault,
        "written_to": kept.address if kept else "",
        "is_confirmed": bool(kept and is_confirmed(kept, request.user)),
        "asked_at": kept.asked_at if kept else None,
        "typed": typed if fault else (kept.address if kept else ""),
        "mails": mails(),
        "hours": mail_hours(),
    }
    return render(request, "runs/due.html", context, status=422 if fault else 200)
