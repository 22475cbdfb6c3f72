"""Who may open a page that writes: the same people whose role its action takes."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from shop.refusal import NotAllowed

View = Callable[..., HttpResponse]


def may(person: Any, act: Callable[..., Any]) -> bool:
    """Whether this person's role is one the action takes: for hiding a button that would be refused."""
    return getattr(person, "role", "") in act.roles  # type: ignore[attr-defined]


def writes(act: Callable[..., Any]) -> Callable[[View], View]:
    """For the page of one action: reads and posts only, and refused (403) to people whom the action would refuse."""

    def dress(view: View) -> View:
        @require_http_methods(["GET", "HEAD", "POST"])
        @wraps(view)
        def page(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not may(request.user, act):
                raise NotAllowed("Your role here does not let you do that. Ask the owner or an engineer.")
            return view(request, *args, **kwargs)

        return page

    return dress
