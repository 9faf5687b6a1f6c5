"""Signing off what was seen at a rig, and what was signed of a person."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.signing import SOON_DAYS, SigningError
from drills.people.access import Request, closed_while_assessed, may_see, visible_person
from drills.people.models import Person
from drills.people.rendering import post_alone
from drills.runs.access import (
    may_assign,
    may_set_phases,
    readable_sign_off,
    seen_people,
    signable_sheet,
)
from drills.runs.actions import set_signing, sign_off, signing_settings
from drills.runs.actions import withdraw_sign_off as withdraw_signed
from drills.runs.models import SignOff
from drills.runs.models.signing import BECAUSE_LENGTH, MOST_DAYS, MOST_YEARS
from drills.runs.sheets import sheet_context
from drills.runs.signed import (
    lapsing_of,
    on_layouts,
    sign_context,
    sign_offs_of,
    signed_context,
)

NUMBERS = ("drill_after", "lapses_after", "hold_years")


@require_http_methods(["GET", "POST"])
def sign(request: Request, sheet_id: UUID) -> HttpResponse:
    """What signing a closed sheet would renew, by category; and signing it."""
    sheet, now = signable_sheet(request.user, sheet_id), timezone.now()
    ticked = request.POST.getlist("category")
    if request.method == "POST":
        try:
            signed = sign_off(sheet, by=request.user, now=now, ticked=ticked)
        except SigningError as error:
            context = sign_context(sheet, viewer=request.user, now=now)
            context |= {"fault": str(error), "ticked": ticked}
            return render(request, "runs/sign.html", context, status=422)
        messages.success(request, f"Signed off: {signed.listed}.")
        return redirect("runs:sheet", sheet.pk)
    context = sign_context(sheet, viewer=request.user, now=now)
    return render(request, "runs/sign.html", context)


@require_GET
def sign_offs(request: Request, employee_number: str) -> HttpResponse:
    """How the sign-offs of a person stand, and each that was given."""
    closed_while_assessed(request.user)
    return _show(request, visible_person(request.user, employee_number))


def _show(request: Request, seen: Person, *, fault: str = "", faulty: int = 0) -> HttpResponse:
    now = timezone.now()
    context = {
        "seen": seen,
        "layouts": on_layouts(seen, now=now),
        "given": sign_offs_of(seen),
        "kept": signing_settings(),
        "may_withdraw": _may_withdraw(request.user, seen),
        "fault": fault,
        "faulty": faulty,
        "typed": request.POST,
        "longest": BECAUSE_LENGTH,
    }
    return render(request, "runs/sign_offs.html", context, status=422 if fault else 200)


def _may_withdraw(viewer: Person, seen: Person) -> bool:
    return viewer.pk != seen.pk and viewer.holds("fto", "educator")


@post_alone
def withdraw_sign_off(request: Request, number: int) -> HttpResponse:
    """Take a sign-off back, with a reason."""
    signed, person = readable_sign_off(request.user, number)
    try:
        because = request.POST.get("because", "")
        withdraw_signed(signed, because=because, by=request.user, now=timezone.now())
    except SigningError as error:
        return _refused(request, signed, person, str(error))
    messages.info(request, f"Withdrawn: {signed.listed}.")
    return redirect(_after(request, signed, person))


def _refused(request: Request, signed: SignOff, person: Person, fault: str) -> HttpResponse:
    """Where it was asked, with the reason; an officer of somebody else's sees their own sheet."""
    if may_see(request.user, person) or signed.sheet is None:
        return _show(request, person, fault=fault, faulty=signed.pk)
    context = sheet_context(signed.sheet, viewer=request.user)
    context |= signed_context(signed.sheet, viewer=request.user, now=timezone.now())
    context |= {"fault": fault, "faulty": signed.pk, "typed": request.POST}
    return render(request, "runs/sheet.html", context, status=422)


def _after(request: Request, signed: SignOff, person: Person) -> str:
    if may_see(request.user, person) or signed.sheet_id is None:
        return reverse("runs:sign_offs", args=[person.employee_number])
    return reverse("runs:sheet", args=[signed.sheet_id])


@require_GET
def lapsing(request: Request) -> HttpResponse:
    """What lapses soon, or did of late, of the people whose records one sees."""
    officer = may_assign(request.user)
    rows = lapsing_of(seen_people(officer).exclude(pk=officer.pk), now=timezone.now())
    context = {"rows": rows, "within": SOON_DAYS, "kept": signing_settings()}
    return render(request, "runs/lapsing.html", context)


@require_http_methods(["GET", "POST"])
def signing(request: Request) -> HttpResponse:
    """How long sign-offs stand and are held, for who may set it."""
    setter, kept = may_set_phases(request.user), signing_settings()
    typed = {
        "drill_after": f"{kept.drill_after_days}",
        "lapses_after": f"{kept.lapses_after_days}",
        "hold_years": f"{kept.hold_years}",
    }
    fault = ""
    if request.method == "POST":
        given = {name: request.POST.get(name, "") for name in NUMBERS}
        try:
            set_signing(**given, by=setter, now=timezone.now())
        except SigningError as error:
            fault, typed = str(error), given
        else:
            messages.success(request, "Set. What was signed before stands by it as well.")
            return redirect("runs:signing")
    context = {
        "kept": kept,
        "typed": typed,
        "fault": fault,
        "most_days": MOST_DAYS,
        "most_years": MOST_YEARS,
    }
    return render(request, "runs/signing.html", context, status=422 if fault else 200)
