"""Who somebody is from one page to the next."""

from django.contrib.auth.backends import ModelBackend

from shop import clock
from shop.alongside import one_row
from shop.people.models import Person, Room
from shop.people.queries import worry_along


class PersonAndRoomBackend(ModelBackend):
    """Signs in by name and password. The room's settings, which every page needs, come along with the person, and so
    does whether accounts are worth a look, which today's page asks."""

    def get_user(self, user_id: int) -> Person | None:
        along = {"room_told": one_row(Room), "worry": worry_along(clock.now())}
        person = Person.objects.annotate(**along).filter(pk=user_id).first()
        return person if person is not None and self.user_can_authenticate(person) else None
