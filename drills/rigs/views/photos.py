"""Photos of places: sent to who may see them, and kept by keepers."""

from typing import Any

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.people.access import Request
from drills.people.rendering import go_to
from drills.rigs.access import kept_place, photo_to_see
from drills.rigs.actions.photos import keep_photo, remove_photo
from drills.rigs.forms import PhotoForm
from drills.rigs.models import Place, PlacePhoto
from drills.rigs.photographed import controlled_in
from drills.rigs.picturing import PhotoRefusedError, picture_of
from drills.rigs.reading import layout_of
from drills.rigs.ties import open_revisions


@require_GET
def photo(request: Request, token: str) -> HttpResponse:
    """The picture itself; of a place that is controlled by now there is none."""
    found = photo_to_see(request.user, token)
    if controlled_in(found.place):
        raise Http404("There is no such photo.")
    response = HttpResponse(bytes(found.image), content_type="image/jpeg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = 'inline; filename="place.jpg"'
    return response


@require_http_methods(["GET", "HEAD", "POST"])
def place_photo(request: Request, number: int) -> HttpResponse:
    """The photo of one place: sent in, replaced or taken away."""
    place = kept_place(request.user, number)
    if request.method != "POST":
        return _page(request, place, PhotoForm())
    if "remove" in request.POST:
        if remove_photo(place, by=request.user, now=timezone.now()):
            messages.success(request, "The photo is taken away.")
        return go_to(request, reverse("rigs:place_photo", args=[place.pk]))
    form = PhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, place, form, status=422)
    given: UploadedFile[bytes] = form.cleaned_data["photo"]
    try:
        picture = picture_of(given.read())
        alt = form.cleaned_data["alt"]
        keep_photo(place, picture, alt=alt, by=request.user, now=timezone.now())
    except PhotoRefusedError as refused:
        form.add_error("photo", str(refused))
        return _page(request, place, form, status=422)
    size = f"{picture.width} x {picture.height} pixels, {len(picture.image) // 1000} KB"
    messages.success(request, f"The photo is kept: {size}, without what the camera wrote into it.")
    return go_to(request, reverse("rigs:place_photo", args=[place.pk]))


def _page(request: Request, place: Place, form: forms.Form, *, status: int = 200) -> HttpResponse:
    context: dict[str, Any] = {
        "place": place,
        "form": form,
        "photo": PlacePhoto.objects.filter(place=place).defer("image").first(),
        "controlled": controlled_in(place),
    }
    for revision in open_revisions(place.layout):
        layout = layout_of(revision)
        codes = [each.code for each in layout.compartments if each.key == place.key]
        if codes:
            context |= {"revision": revision, "code": codes[0], "path": layout.path(codes[0])}
            break
    return render(request, "rigs/place_photo.html", context, status=status)
