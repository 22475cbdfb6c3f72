"""Lets every page know the room, tell time in its zone, read nothing twice, and stay out of shared caches; and keeps
the door."""

from collections.abc import Callable
from contextlib import nullcontext
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from shop import clock
from shop.alongside import row_of
from shop.people import doors
from shop.people.models import OWNERS, Room
from shop.people.queries import is_worried, the_room
from shop.people.requests import onwards
from shop.recall import looking


class RoomMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with looking() if request.method in ("GET", "HEAD") else nullcontext():
            room = _room(request)
            request.room = room  # type: ignore[attr-defined]
            with timezone.override(ZoneInfo(room.zone)):
                response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "no-store")
        return response


def _room(request: HttpRequest) -> Room:
    """The room, as it came along with whoever signed in; else by a query of its own."""
    told = getattr(request.user, "room_told", None)
    if told is None:
        return the_room()
    room = row_of(Room, told)
    the_room.tell(room)
    is_worried.tell(request.user.worry)  # type: ignore[union-attr]
    return room


class DoorMiddleware:
    """Keeps the door after somebody came in: ends what is over, locks a shared device left alone, asks again for the
    password before an owner's things where only a code was given, and has owners set up the second factor where the
    room wants one. After RoomMiddleware."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: Any, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        if not request.user.is_authenticated:
            return None
        now = clock.now()
        if doors.is_over(request, now) or doors.is_idle_too_long(request, now):
            doors.let_out(request)
            # what everybody may see is shown; else the sign-in leads back here
            return None if not getattr(view, "login_required", True) else onwards("people:sign-in", request)
        doors.note_seen(request, now)
        owners_own = getattr(view, "roles", None) == OWNERS or getattr(view, "asks_again", False)
        if owners_own and doors.asks_again(request):
            return onwards("people:ask-again", request)
        if getattr(view, "at_the_door", False):
            return None
        if request.user.is_owner and request.room.owners_need_second_factor and not request.user.second_factor_at:
            return redirect("people:turn-on-second-factor")
        return None
