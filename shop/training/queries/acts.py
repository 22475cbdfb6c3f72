"""Reading acts, and who may do them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import BooleanField, ExpressionWrapper, F, Q, QuerySet

from shop import clock
from shop.duties.models import Duty
from shop.people import authority
from shop.people.models import HANDS, Person
from shop.recall import recalled
from shop.training.models import Act, Authority

#: How long ahead a lapse is told.
AHEAD = timedelta(days=31)


def on_day(day: date) -> Q:
    """Authorities that hold on that day."""
    return (
        Q(starts_on__lte=day)
        & (Q(until__isnull=True) | Q(until__gte=day))
        & (Q(withdrawn__isnull=True) | Q(withdrawn__from_day__gt=day))
    )


@recalled
def holders(act: str, day: date) -> frozenset[int] | None:
    """Who may do the act alone on that day: ids of people; None if it was never given to anybody. One query."""
    now = ExpressionWrapper(on_day(day), output_field=BooleanField())
    given = list(Authority.objects.filter(act__slug=act).annotate(now=now).values_list("person", "now"))
    return frozenset(person for person, holds in given if holds) if given else None


def acts() -> QuerySet[Act]:
    return Act.objects.filter(is_active=True)


def act_names() -> dict[str, str]:
    """What each act is called, by slug. One query."""
    return dict(acts().values_list("slug", "name"))


def authorities() -> QuerySet[Authority]:
    return Authority.objects.select_related("act", "person", "by", "withdrawn__by")


@dataclass(frozen=True)
class Held:
    """That somebody may do an act now: until which day, None for no end; soon: that day is near."""

    act: Act
    person: Person
    until: date | None
    soon: bool


def held_now(people: Iterable[Person] | None = None) -> list[Held]:
    """Every act that somebody may do alone today, each with the longest of their authorities. One query."""
    today = clock.today()
    given = Authority.objects.filter(on_day(today), act__is_active=True, person__is_active=True)
    if people is not None:
        given = given.filter(person__in=list(people))
    longest: dict[tuple[int, int], Authority] = {}
    for one in given.select_related("act", "person").order_by(F("until").asc(nulls_last=True)):
        if authority.is_open_to(one.person, one.act.slug):
            longest[one.person_id, one.act_id] = one
    return [
        Held(one.act, one.person, one.until, one.until is not None and one.until - today <= AHEAD)
        for one in longest.values()
    ]


def held_as_long(act: Act, person: Person, until: date | None) -> Held | None:
    """How somebody holds the act today, if until that day or later; None if not. until: None for no end. One query."""
    return next(
        (
            one
            for one in held_now([person])
            if one.act == act and (one.until is None or (until is not None and one.until >= until))
        ),
        None,
    )


@dataclass(frozen=True)
class Row:
    """One act's line of the matrix: what each person may, in the order of the people; None for may not alone."""

    act: Act
    cells: list[tuple[Person, Held | None]]
    is_kept: bool

    @property
    def closed_to(self) -> list[Person]:
        """Those whose role may not hold it at all."""
        return [person for person, _ in self.cells if not authority.is_open_to(person, self.act.slug)]


@dataclass(frozen=True)
class Matrix:
    people: list[Person]
    rows: list[Row]


def matrix() -> Matrix:
    """Who may do what alone today: acts by people who work here. Three queries and one."""
    people = list(Person.objects.filter(is_active=True, role__in=HANDS).order_by("name", "pk"))
    held = {(one.act.pk, one.person.pk): one for one in held_now(people)}
    ever = set(Authority.objects.values_list("act", flat=True).distinct())
    rows = [Row(act, [(person, held.get((act.pk, person.pk))) for person in people], act.pk in ever) for act in acts()]
    return Matrix(people, rows)


def duties_that_need(act: Act) -> QuerySet[Duty]:
    """Care that asks for this authority."""
    return Duty.objects.filter(authority=act.slug, is_active=True)
