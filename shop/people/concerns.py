"""What people worry about: two accounts that look like one human's, and somebody's account being guessed at."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import Max, Q
from django.urls import reverse

from shop.concern import Concern, Grade
from shop.people.models import Person
from shop.people.queries import alike

#: Misses in a row from which the owners are told: a day's guessing at the longest wait (brakes.py).
GUESSED = 96


def concerns(now: datetime) -> Iterator[Concern]:
    lately = Q(brakes__key__startswith="account:", brakes__last_at__gte=now - timedelta(days=1))
    people = list(
        Person.objects.filter(is_active=True).annotate(guessed=Max("brakes__in_a_row", filter=lately)).order_by("pk")
    )
    for person in people:
        if (person.guessed or 0) >= GUESSED:
            yield Concern(
                key=f"people:guessed:{person.pk}",
                grade=Grade.CARE,
                subject="Signing in",
                headline=f"Somebody keeps guessing at the password of {person.name}",
                reason=f"{person.guessed} wrong tries in a row, the latest within a day. Each waits 15 minutes.",
                what_to_do="Ask whether it is themselves. If not, see who can reach this room's address; a second "
                "factor makes a guessed password useless.",
                link=reverse("people:change-person", args=[person.pk]),
            )
    for one, two in alike(people):
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
