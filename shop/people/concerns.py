"""What people worry about: two accounts that look like one human's, and somebody's account being guessed at."""

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Max
from django.urls import reverse

from shop.concern import Concern, Grade
from shop.people.models import Person
from shop.people.queries import alike, guessed_at, is_worried, lately


def concerns(now: datetime) -> Iterator[Concern]:
    if not is_worried():  # along with whoever looks: no query on a page of somebody's
        return
    guessed = (
        guessed_at(lately(now)).values("person_id").annotate(misses=Max("in_a_row")).values_list("person_id", "misses")
    )
    for pk, misses in guessed:
        person = Person.objects.get(pk=pk)
        yield Concern(
            key=f"people:guessed:{person.pk}",
            grade=Grade.CARE,
            subject="Signing in",
            headline=f"Somebody keeps guessing at the password of {person.name}",
            reason=f"{misses} wrong tries in a row, the latest within a day. Each waits 15 minutes.",
            what_to_do="Ask whether it is themselves. If not, see who can reach this room's address; a second "
            "factor makes a guessed password useless.",
            link=reverse("people:change-person", args=[person.pk]),
        )
    for one, two in alike():
        yield Concern(
            key=f"people:alike:{one.pk}:{two.pk}",
            grade=Grade.NOTE,
            subject="People",
            headline=f"“{one.sign_in}” and “{two.sign_in}” may be one human",
            reason=f"Both are named {one.name}."
            if one.name.casefold() == two.name.casefold()
            else "They have the same mail address.",
            what_to_do="An owner says whether they are: nobody signs off for themselves.",
            link=f"{reverse('people:settle-same', args=[one.pk])}?other={two.pk}",
        )
