"""The photo of a place: kept, replaced and taken away."""

from datetime import datetime
from secrets import token_urlsafe

from django.db import transaction

from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Place, PlacePhoto
from drills.rigs.photographed import controlled_in
from drills.rigs.picturing import PhotoRefusedError, Picture


@transaction.atomic
def keep_photo(
    place: Place, picture: Picture, *, alt: str, by: Person, now: datetime
) -> PlacePhoto:
    """Keep the photo of a place instead of the one before; none of a controlled place."""
    place = Place.objects.select_for_update().get(pk=place.pk)
    if revision := controlled_in(place):
        raise PhotoRefusedError(
            f"In {revision} this place is locked, has a locked one inside, or holds something "
            "controlled. Such a place is never photographed."
        )
    before = PlacePhoto.objects.filter(place=place).first()
    photo, _ = PlacePhoto.objects.update_or_create(
        place=place,
        defaults={
            "token": token_urlsafe(18),
            "image": picture.image,
            "width": picture.width,
            "height": picture.height,
            "alt": alt,
            "uploaded_by": by,
            "uploaded_at": now,
        },
    )
    told = {"alt": alt, "bytes": len(picture.image)}
    was = {"alt": before.alt, "bytes": len(before.image)} if before else None
    record("keep photo", place.key[:160], by=by, now=now, before=was, after=told)
    return photo


@transaction.atomic
def remove_photo(place: Place, *, by: Person, now: datetime) -> bool:
    """Take the photo of a place away; whether there was one."""
    photo = PlacePhoto.objects.select_for_update().filter(place=place).first()
    if photo is None:
        return False
    before = {"alt": photo.alt, "bytes": len(photo.image)}
    photo.delete()
    record("remove photo", place.key[:160], by=by, now=now, before=before)
    return True
