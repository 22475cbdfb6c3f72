"""Who is told, and in which order. Nobody's wish can leave a hold untold."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise

from django.utils import timezone

from shop import clock
from shop.calc.due import moment_of
from shop.people.models import Person
from shop.watch.models import Wishes


@dataclass(frozen=True)
class Line:
    """People who look after alerts, in the order in which an alert goes from one to the next.

    people: those who have a turn, by it; if nobody has one, the engineers and then the owners, each by name.
    owners: all who own the room: told when the line has come to its end.
    """

    people: tuple[Person, ...]
    owners: tuple[Person, ...]

    @property
    def first(self) -> Person | None:
        return self.people[0] if self.people else None

    def after(self, person_id: int | None) -> Person | None:
        """The next in line after this person; None after the last, and after somebody who is not in it."""
        return next((after for before, after in pairwise(self.people) if before.pk == person_id), None)

    def hears_at_once(self, person: Person) -> bool:
        return bool(person.email) and wishes_of(person).at_once

    def to_tell_at_once(self, person_id: int | None) -> list[Person]:
        """Who gets the mail about a hold that is with this person.

        That person, if they can and wish to be told so; else the next in line who does; else every owner with an
        address, whatever they wish: a hold is never silenced down to nobody.
        """
        start = next((place for place, one in enumerate(self.people) if one.pk == person_id), 0)
        hears = next((one for one in self.people[start:] if self.hears_at_once(one)), None)
        return [hears] if hears else self.told_regardless()

    @property
    def reaches_somebody(self) -> bool:
        """Whether a mail about a hold would reach anybody."""
        return bool(self.told_regardless()) or any(self.hears_at_once(person) for person in self.people)

    def told_regardless(self) -> list[Person]:
        """The owners who have an address."""
        return [owner for owner in self.owners if owner.email]


def wishes_of(person: Person) -> Wishes:
    """How the person wishes to be told: unsaved defaults (version 0) for whoever never said. No query where the person
    was read with select_related("wishes")."""
    return person.wishes if hasattr(person, "wishes") else Wishes(person=person, version=0)


def the_line() -> Line:
    """The line as it stands: one query."""
    active = list(Person.objects.filter(is_active=True).select_related("wishes").order_by("name", "pk"))
    turns = {person.pk: turn for person in active if (turn := wishes_of(person).turn) is not None and person.is_hand}
    with_turn = sorted((person for person in active if person.pk in turns), key=lambda person: turns[person.pk])
    usual = sorted((person for person in active if person.is_engineer), key=lambda person: person.is_owner)
    return Line(people=tuple(with_turn or usual), owners=tuple(person for person in active if person.is_owner))


def end_of_quiet(wishes: Wishes, now: datetime) -> datetime:
    """`now`, or if that falls into the person's quiet hours the moment they end, by the room's wall clock.

    An end that the clocks skip is the moment they resume; one that comes twice is its first.
    """
    local = timezone.localtime(now)
    if not wishes.is_quiet_at(local.time().replace(tzinfo=None)):
        return now
    day = local.date()
    if local.time() >= wishes.quiet_to:
        day += timedelta(days=1)
    return at_wall(day, wishes.quiet_to)


def at_wall(day: date, wall: time) -> datetime:
    """The moment of a wall-clock time on `day` in the room's zone; `calc.due.moment_of` says what a change of clocks
    does to it."""
    return moment_of(day, wall, clock.zone_name())
