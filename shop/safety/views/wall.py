"""What stands on the wall: the page, the card, and the lists an engineer keeps."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from shop import paper
from shop.people.requests import PersonRequest
from shop.press.pages import may, writes
from shop.safety import actions, queries
from shop.safety.forms import KeepCallNumbersForm, KeepExtinguishersForm, KeepShutOffsForm
from shop.safety.forms.wall import WallForm


@require_safe
def wall(request: PersonRequest) -> HttpResponse:
    """Whom to call, what is shut off where, what is there against a fire."""
    given = {"wall": queries.wall(), "may_keep": may(request.user, actions.keep_call_numbers)}
    return render(request, "safety/wall.html", given)


@require_safe
def wall_card(request: PersonRequest) -> HttpResponse:
    """The same as a card to hang up."""
    given = {"room": request.room, "wall": queries.wall()}
    size = request.room.paper
    return paper.hand_out(
        request,
        lambda: paper.pdf("print/wall_card.html", given, size, on_one=True, accessible=True),
        name="wall card",
    )


@writes(actions.keep_call_numbers)
def keep_call_numbers(request: PersonRequest) -> HttpResponse:
    return _keep(request, KeepCallNumbersForm, actions.keep_call_numbers, "The numbers are kept.")


@writes(actions.keep_shut_offs)
def keep_shut_offs(request: PersonRequest) -> HttpResponse:
    return _keep(request, KeepShutOffsForm, actions.keep_shut_offs, "The shut-offs are kept.")


@writes(actions.keep_extinguishers)
def keep_extinguishers(request: PersonRequest) -> HttpResponse:
    return _keep(request, KeepExtinguishersForm, actions.keep_extinguishers, "What is there against a fire is kept.")


def _keep(request: PersonRequest, kind: type[WallForm], act: Any, said: str) -> HttpResponse:
    more = request.POST if "more" in request.POST else None
    form = kind(None if more else request.POST or None, person=request.user, more=more, query=request.GET)
    if request.method == "POST" and not more and form.press(act, by=request.user) is not None:
        messages.success(request, f"{said} Print the wall card anew, and what it replaces goes in the bin.")
        return redirect("safety:wall")
    return render(request, f"safety/{act.__name__}.html", {"form": form}, status=form.http_status)
