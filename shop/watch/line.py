"""Who is told, and in which order. Nobody's wish can leave a hold untold."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from itertools import pairwise

from django.utils import timezone

from shop.people.models import ENGINEERS, Person, Role
from shop.watch.models import Wishes


@dataclass(frozen=True)
class Line:
    """People who look after alerts, in the order in which an alert goes from one to the next.

    people: those who have a turn, by it; if nobody has one, the engineers and then the owners, each by name.
    owners: all who own the room: told when the line has come to its end. wishes: by person id.
    """

    people: tuple[Person, ...]
    owners: tuple[Person, ...]
    wishes: dict[int, Wishes] = field(default_factory=dict)

    @property
    def first(self) -> Person | None:
        return self.people[0] if self.people else None

    def after(self, person_id: int | None) -> Person | None:
        """The next in line after this person; None after the last, and after somebody who is not in it."""
        return next((after for before, after in pairwise(self.people) if before.pk == person_id), None)

    def wishes_of(self, person: Person) -> Wishes:
        return self.wishes.get(person.pk) or Wishes(person=person)

    def hears_at_once(self, person: Person) -> bool:
        return bool(person.email) and self.wishes_of(person).at_once

    def to_tell_at_once(self, person: Person | None) -> list[Person]:
        """Who gets the mail about a hold that is with `person`.

        That person, if they can and wish to be told so; else the next in line who does; else every owner with an
        address, whatever they wish: a hold is never silenced down to nobody.
        """
        start = self.people.index(person) if person in self.people else 0
        for one in self.people[start:]:
            if self.hears_at_once(one):
                return [one]
        return self.told_regardless()

    @property
    def reaches_somebody(self) -> bool:
        """Whether a mail about a hold would reach anybody."""
        return bool(self.told_regardless()) or any(self.hears_at_once(person) for person in self.people)

    def told_regardless(self) -> list[Person]:
        """The owners who have an address."""
        return [owner for owner in self.owners if owner.email]


def the_line(people: Iterable[Person] | None = None) -> Line:
    """The line as it stands, or that of these people: one query."""
    rows = Person.objects.filter(is_active=True).select_related("wishes").order_by("name", "pk")
    return line_of(rows if people is None else rows.filter(pk__in=[person.pk for person in people]))


def line_of(people: Iterable[Person]) -> Line:
    """The line that these people make, who were read with their wishes, by name."""
    active = list(people)
    wishes = {person.pk: person.wishes for person in active if hasattr(person, "wishes")}
    turns = {pk: row.turn for pk, row in wishes.items()}
    with_turn = [person for person in active if turns.get(person.pk) is not None and person.is_hand]
    with_turn.sort(key=lambda person: (turns[person.pk] or 0, person.pk))
    usual = [person for person in active if person.role in ENGINEERS]
    usual.sort(key=lambda person: person.role == Role.OWNER)
    owners = tuple(person for person in active if person.role == Role.OWNER)
    return Line(people=tuple(with_turn or usual), owners=owners, wishes=wishes)


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
    """The moment of a wall-clock time on `day` in the room's zone: where the clocks skip it, the later side of the gap
    by as much; where it comes twice, its first."""
    from datetime import UTC

    zone = timezone.get_current_timezone()
    return datetime.combine(day, wall.replace(fold=0)).replace(tzinfo=zone).astimezone(UTC)
