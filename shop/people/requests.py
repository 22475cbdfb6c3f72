"""What a page is asked with."""

from django.http import HttpRequest

from shop.people.models import Person, Room


class PersonRequest(HttpRequest):
    """A request of somebody signed in; the login middleware lets no other through to a page. For annotations only."""

    user: Person
    room: Room
