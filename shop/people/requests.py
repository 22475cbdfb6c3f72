"""What a page is asked with, and where one goes on from it."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponseRedirect
from django.shortcuts import resolve_url
from django.utils.http import url_has_allowed_host_and_scheme

from shop.people.models import Person, Room

#: The name under which an address carries where one was going.
NEXT = "next"


class PersonRequest(HttpRequest):
    """A request of somebody signed in; the login middleware lets no other through to a page. For annotations only."""

    user: Person
    room: Room


def onwards(name: str, request: HttpRequest, to: str = "") -> HttpResponseRedirect:
    """To the page of an address's name, and from there back to where one was going: here, unless told."""
    there = to or request.get_full_path()
    return HttpResponseRedirect(
        f"{resolve_url(name)}?{urlencode({NEXT: there})}" if there != "/" else resolve_url(name)
    )


def where_next(request: HttpRequest) -> str:
    """Where the request says one was going, if that is a page of this room; else ""."""
    there = request.POST.get(NEXT, request.GET.get(NEXT, ""))
    ours = url_has_allowed_host_and_scheme(there, {request.get_host()}, require_https=request.is_secure())
    return there if ours else ""
