"""Lets every page know the room, tell time in its zone, read nothing twice, and stay out of shared caches."""

from collections.abc import Callable
from contextlib import nullcontext
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from shop.alongside import row_of
from shop.people.models import Room
from shop.people.queries import the_room
from shop.press.record import record_fault
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
    record_fault.tell(request.user.record_fault or "")  # type: ignore[union-attr]
    return room
