"""Reading people and the room."""

from datetime import datetime, timedelta
from itertools import combinations
from typing import Any

from django.contrib.sessions.models import Session
from django.db.models import (
    BooleanField,
    Case,
    Count,
    DateTimeField,
    Exists,
    Max,
    OuterRef,
    Q,
    QuerySet,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from shop import clock
from shop.alongside import own_row
from shop.people.models import Brake, Invitation, Person, Room, SharedDevice, SignIn, ToldApart
from shop.prepared import Given, prepared
from shop.recall import recalled


@recalled
def the_room() -> Room:
    """The room's settings; an unsaved one with defaults where nobody has opened the room yet."""
    return own_row(Room, name="Cutting room")


def open_invitations() -> list[Invitation]:
    """Those that were neither used nor withdrawn, also those whose time is over, latest first."""
    return list(Invitation.objects.filter(used_at=None, withdrawn_at=None).select_related("by")[:50])


def with_codes() -> list[Person]:
    """Who may change places on a shared device, by name."""
    return list(Person.objects.filter(is_active=True, personal_code__isnull=False).order_by("name", "pk"))


def open_sign_ins(person: Person) -> list[SignIn]:
    """Where the person is signed in now, latest seen first."""
    there = Session.objects.values("session_key")  # what has run out is cleared away once a day
    return list(person.sign_ins.filter(ended_at=None, key__in=there).order_by("-seen_at", "-pk"))


def shared_devices() -> list[SharedDevice]:
    """Those that are shared now, with when somebody was last seen on each."""
    return list(
        SharedDevice.objects.filter(ended_at=None)
        .select_related("named_by")
        .annotate(seen_at=Max("sign_ins__seen_at"), people=Count("sign_ins", filter=Q(sign_ins__ended_at=None)))
    )


def account(person: Person) -> dict[str, Any]:
    """What an owner's page of a person tells of their account."""
    return {
        "also": list(_of_one_human(person).exclude(pk=person.pk)),
        "alike": alike_to(person),
    }


def _of_one_human(person: Person) -> QuerySet[Person]:
    return Person.objects.filter(Q(pk=person.human) | Q(same_as=person.human))


# What there is to worry about ----------------------------------------------------------------------------------------

#: Misses in a row from which the owners are told: a day's guessing at the longest wait (brakes.py).
GUESSED = 96


def lately(now: datetime) -> datetime:
    """From when on guessing counts."""
    return now - timedelta(days=1)


def guessed_at(since: datetime | Given) -> QuerySet[Brake]:
    """Accounts at whose passwords somebody has kept guessing until after that moment: `lately`, for now."""
    return Brake.objects.filter(
        key__startswith="account:", in_a_row__gte=GUESSED, last_at__gte=since, person__is_active=True
    )


def worry_along() -> Case:
    """Whether there is anything of that kind, as an annotation, for a prepared question that is given `now`."""
    there = Q(Exists(_pairs())) | Q(Exists(guessed_at(Given("now", DateTimeField(), lately))))
    return Case(When(there, then=Value(True)), default=Value(False), output_field=BooleanField())


@recalled
def is_worried() -> bool:
    return bool(_a_pair() or _one_guessed_at(now=clock.now()))


@prepared
def _a_pair() -> QuerySet[Person, int]:
    return _pairs().values_list("pk", flat=True)[:1]


@prepared
def _one_guessed_at() -> QuerySet[Brake, int]:
    return guessed_at(Given("now", DateTimeField(), lately)).values_list("pk", flat=True)[:1]


# One human with two accounts ------------------------------------------------------------------------------------------


def _pairs() -> QuerySet[Person]:
    """Accounts that share name or mail with a later one, as `twin`, which no owner has said anything about."""
    apart = ToldApart.objects.filter(first=OuterRef(OuterRef("pk")), second=OuterRef("pk"))
    of_one = Coalesce("same_as", "pk")
    twin = (
        Person.objects.filter(is_active=True, pk__gt=OuterRef("pk"))
        .filter(
            Q(folded_name=OuterRef("folded_name")) | (~Q(folded_email="") & Q(folded_email=OuterRef("folded_email")))
        )
        .annotate(human_pk=of_one)
        .exclude(human_pk=Coalesce(OuterRef("same_as"), OuterRef("pk")))
        .exclude(Exists(apart))
    )
    return Person.objects.filter(Exists(twin), is_active=True)


def alike() -> list[tuple[Person, Person]]:
    """Pairs of accounts with the same name or mail of which no owner has said whether they are one human's."""
    if not _pairs().exists():
        return []
    people = list(Person.objects.filter(is_active=True).order_by("pk"))
    apart = set(ToldApart.objects.values_list("first_id", "second_id"))
    return [
        (one, two)
        for one, two in combinations(people, 2)
        if one.human != two.human and _share_name_or_mail(one, two) and (one.pk, two.pk) not in apart
    ]


def _share_name_or_mail(one: Person, two: Person) -> bool:
    return one.folded_name == two.folded_name or (one.folded_email != "" and one.folded_email == two.folded_email)


def alike_to(person: Person) -> list[Person]:
    return [two if one == person else one for one, two in alike() if person in (one, two)]


def same_human(one: Person, two: Person) -> bool:
    """Whether two accounts are one human's, as far as the owners have said."""
    return one.human == two.human
