"""What every template may use: the room."""

from typing import Any

from django.http import HttpRequest

from shop.people.queries import the_room


def room(request: HttpRequest) -> dict[str, Any]:
    return {"room": getattr(request, "room", None) or the_room()}
