"""Who somebody is from one page to the next."""

from django.contrib.auth.backends import ModelBackend

from shop.alongside import one_row
from shop.people.models import Person, Room


class PersonAndRoomBackend(ModelBackend):
    """Signs in by name and password. The room's settings, which every page needs, come along with the person."""

    def get_user(self, user_id: int) -> Person | None:
        person = Person.objects.annotate(room_told=one_row(Room)).filter(pk=user_id).first()
        return person if person is not None and self.user_can_authenticate(person) else None
