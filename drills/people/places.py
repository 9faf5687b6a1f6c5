"""Where a request comes from: the address, and the browser by a mark that names nobody."""

import re
import secrets
from ipaddress import IPv4Address, IPv6Network, ip_address

from django.conf import settings
from django.http import HttpRequest, HttpResponse

DEVICE_COOKIE = "device"
DEVICE_KEPT_FOR = 90 * 24 * 60 * 60
_DEVICE_LENGTH = 64
# As some proxies write an address: with the port of the connection, or in brackets.
_WRITTEN = re.compile(r"(?:\[([^\]]+)\]|([\d.]+)(?=:))(?::\d+)?")


def address_of(request: HttpRequest) -> str:
    """The address of a request, as the outermost of our own proxies saw it.

    What stands further left in X-Forwarded-For was sent by the client, who may write anything.
    """
    seen = str(request.META.get("REMOTE_ADDR", ""))
    trusted: int = settings.READINESS_PROXIES
    if trusted:
        told = [each.strip() for each in request.headers.get("X-Forwarded-For", "").split(",")]
        seen = told[-trusted] if len(told) >= trusted and told[-trusted] else seen
    return _household(seen)


def device_of(request: HttpRequest) -> str:
    """The mark of the browser; a new one where it has none."""
    mark = request.COOKIES.get(DEVICE_COOKIE, "")
    return mark if 0 < len(mark) <= _DEVICE_LENGTH else secrets.token_urlsafe(24)


def know_device(response: HttpResponse, device: str) -> None:
    """Let the browser keep its mark, since somebody was let in there."""
    response.set_cookie(
        DEVICE_COOKIE,
        device,
        max_age=DEVICE_KEPT_FOR,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def _household(written: str) -> str:
    """The address alone; of IPv6 the /64, all of which one household has to itself."""
    parts = _WRITTEN.fullmatch(written)
    bare = parts[parts.lastindex or 0] if parts else written
    try:
        address = ip_address(bare)
    except ValueError:
        return written
    if isinstance(address, IPv4Address):
        return str(address)
    if address.ipv4_mapped:
        return str(address.ipv4_mapped)
    return str(IPv6Network((address.packed, 64), strict=False))
