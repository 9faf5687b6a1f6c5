"""Personal pages are never kept by a browser or a proxy."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import add_never_cache_headers, patch_vary_headers


def personal_pages(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Mark every answer as not to be stored, and as differing for fragment requests."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        add_never_cache_headers(response)
        patch_vary_headers(response, ["HX-Request"])
        return response

    return answer
