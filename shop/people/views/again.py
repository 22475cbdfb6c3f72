"""Marks that the door reads off a page (middleware.DoorMiddleware)."""

from typing import TypeVar

V = TypeVar("V")


def asks_again(view: V) -> V:
    """Somebody who came in by a personal code is asked for the password before this page, as before an owner's."""
    view.asks_again = True  # type: ignore[attr-defined]
    return view


def at_the_door(view: V) -> V:
    """An owner who has yet to set up a second factor reaches this page all the same."""
    view.at_the_door = True  # type: ignore[attr-defined]
    return view
