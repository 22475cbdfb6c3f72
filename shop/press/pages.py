"""Pages that write: who may open one (the people whose role its action takes), and what each does with a press.

A page that is not everybody's carries `roles`, so that the door may ask again before an owner's.
"""

from collections.abc import Callable, Collection
from functools import wraps
from typing import Any, TypeVar

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from shop.press.forms import PressForm
from shop.refusal import NOT_SHOWN, NOT_YOUR_ROLE, NotAllowed, ask_whom

View = Callable[..., HttpResponse]
R = TypeVar("R")


def may(person: Any, act: Callable[..., Any]) -> bool:
    """Whether the action takes this person: for hiding a button that would be refused.

    By role; and where fewer do it as long as no authority for it is kept (authority.needs), by that.
    """
    if getattr(person, "role", "") not in act.roles:  # type: ignore[attr-defined]
        return False
    admits: Callable[[Any], bool] | None = getattr(act, "admits", None)
    return admits is None or admits(person)


def writes(act: Callable[..., Any]) -> Callable[[View], View]:
    """For the page of one action: reads and posts only, and refused (403) to people whom the action would refuse."""

    def dress(view: View) -> View:
        @require_http_methods(["GET", "HEAD", "POST"])
        @wraps(view)
        def page(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not may(request.user, act):
                raise NotAllowed(ask_whom(NOT_YOUR_ROLE, act.roles))  # type: ignore[attr-defined]
            return view(request, *args, **kwargs)

        page.roles = frozenset(act.roles)  # type: ignore[attr-defined]
        return page

    return dress


def shown_to(roles: Collection[str]) -> Callable[[View], View]:
    """For a page that only shows, and only to people of these roles: refused (403) to the others."""

    def dress(view: View) -> View:
        @require_safe
        @wraps(view)
        def page(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if getattr(request.user, "role", "") not in roles:
                raise NotAllowed(ask_whom(NOT_SHOWN, roles))
            return view(request, *args, **kwargs)

        page.roles = frozenset(roles)  # type: ignore[attr-defined]
        return page

    return dress


def press_page(
    request: HttpRequest,
    form: PressForm,
    act: Callable[..., R],
    /,
    *,
    said: str | Callable[[R], str],
    to: Any = None,
    more: dict[str, Any] | None = None,
    **about: Any,
) -> HttpResponse:
    """The page of an action and its form: shown until a press goes through; then one sentence, and onwards.

    The template is the action's namesake in its app. said: the sentence, or what makes it of the record that the action
    gave; to: where to go, an address's name or a row (that record, if not told); about: the rows it is done to, for the
    action and the template; more: what else the template needs.
    """
    if request.method == "POST" and (done := form.press(act, by=request.user, **about)) is not None:
        messages.success(request, said(done) if callable(said) else said)
        onwards: Any = done if to is None else to
        return redirect(onwards)
    template = f"{act.__module__.split('.')[1]}/{act.__name__}.html"
    return render(request, template, {**about, **(more or {}), "form": form}, status=form.http_status)
