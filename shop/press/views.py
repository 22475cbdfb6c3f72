"""Pages that say what went wrong and what to do next."""

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import DisallowedHost
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.refusal import NOT_YOUR_ROLE

_HEADLINES = {
    400: "That could not be read",
    403: "Not for your role",
    404: "Nothing is here",
    405: "That takes a press",
    409: "Not saved a second time",
    422: "Not saved",
}


def refusal_page(
    request: HttpRequest,
    sentence: str,
    status: int,
    *,
    headline: str = "",
    again: bool | None = None,
    typed: bool = False,
) -> HttpResponse:
    """One sentence of refusal, a heading that fits its status unless one is given, and the way on.

    again: whether opening the same page afresh is worth offering; unless told, where a press was refused (409, 422).
    typed: whether what was typed is lost to this page; then it says where that may still be.
    """
    headline = headline or ("Not saved" if again else _HEADLINES.get(status, "Not saved"))
    again = status in {409, 422} if again is None else again
    context = {"headline": headline, "sentence": sentence, "status": status, "again": again, "typed": typed}
    return render(request, "refusal.html", context, status=status)


@login_not_required
def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    if isinstance(exception, DisallowedHost):  # nothing of the page may ask for that name again
        page = render(None, "strange_name.html", {"name": request.META.get("HTTP_HOST", "")})
        return HttpResponse(page.content, status=400)
    return refusal_page(request, "The request was malformed. Go back, open the page again and press there.", 400)


@login_not_required
def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return refusal_page(request, NOT_YOUR_ROLE, 403)


@login_not_required
def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return refusal_page(request, "There is no such page or record. It may have been mistyped.", 404)


@login_not_required
def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    sentence = "The page had been open too long, or its sign-in ended. Nothing was saved."
    return refusal_page(request, sentence, 403, again=True, typed=True)


@login_not_required
def server_error(request: HttpRequest) -> HttpResponse:
    """A page with no context processors: the fault may be in one of them."""
    return HttpResponse(render(None, "fault.html").content, status=500)
