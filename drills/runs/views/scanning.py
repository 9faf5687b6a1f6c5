"""Answering with the label of a place, which the phone's own camera opens."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from drills.people.access import Request
from drills.people.rendering import post_alone
from drills.rigs.access import scanned_label
from drills.runs.actions import AnswerError, answer_by_label, last_scanned


@post_alone
def scan(request: Request, token: str) -> HttpResponse:
    """Take the label as the answer to the one prompt that waits for a scan."""
    label = scanned_label(request.user, token)
    try:
        answered = answer_by_label(request.user, label, now=timezone.now())
    except AnswerError as refused:
        messages.error(request, str(refused))
        last = last_scanned(request.user)
        return redirect("runs:take", last.pk) if last else redirect("boards:home")
    return redirect("runs:take", answered.run_id)
