"""The one mail a person gets in the morning: the wish for it, and what stands in it."""

from datetime import datetime

from django.db.models import F, Q, QuerySet
from django.utils import timezone

from shop import clock
from shop.concern import Grade
from shop.people.models import Person
from shop.watch import line as lines
from shop.watch.models import Alert, Delivery, DeliveryKind, DeliveryState, Wishes


def standing(now: datetime) -> QuerySet[Alert]:
    """Alerts that stand and are not quiet at `now`, gravest first, then by how long they stand."""
    open_ones = Alert.objects.filter(ended_at__isnull=True, gone_since__isnull=True, settled_at__isnull=True)
    awake = open_ones.filter(Q(snoozed_until__isnull=True) | Q(snoozed_until__lte=now))
    return awake.select_related("taken_by", "with_person").order_by("-grade", "opened_at", "id")


def for_the_mail_of(person: Person, wishes: Wishes, now: datetime) -> QuerySet[Alert]:
    """What `person` is written of: everything standing, less the topics they left out. A hold is never left out."""
    alerts = standing(now)
    for topic in wishes.muted:
        alerts = alerts.exclude(Q(key__startswith=f"{topic}:") & Q(grade__lt=Grade.HOLD))
    return alerts


def new_to(person: Person, alerts: QuerySet[Alert]) -> QuerySet[Alert]:
    """Those of `alerts` that the person was told of by no mail at this grade or a graver one."""
    return alerts.exclude(told__person=person, told__grade__gte=F("grade"))


def want_morning_mails(now: datetime | None = None) -> int:
    """Write the wish for today's morning mail of everybody whose hour has come; how many.

    Once for each person and local day, also after a week of standing still: the days in between are over. Whoever has
    nothing new to read gets none, and that is kept too, so that the mail stays a morning's.
    """
    now = now or clock.now()
    local = timezone.localtime(now)
    line = lines.the_line()
    due = [
        person
        for person in Person.objects.filter(is_active=True).exclude(email="").order_by("pk")
        if line.wishes_of(person).morning_mail and lines.at_wall(local.date(), line.wishes_of(person).mail_at) <= now
    ]
    day = local.date().isoformat()
    had = set(
        Delivery.objects.filter(kind=DeliveryKind.MORNING, occasion=day, person__in=due).values_list(
            "person", flat=True
        )
    )
    wanted = [_wish(person, line.wishes_of(person), day, now) for person in due if person.pk not in had]
    Delivery.objects.bulk_create(wanted, ignore_conflicts=True)
    return sum(delivery.state == DeliveryState.WANTED for delivery in wanted)


def _wish(person: Person, wishes: Wishes, day: str, now: datetime) -> Delivery:
    news = new_to(person, for_the_mail_of(person, wishes, now)).exists()
    return Delivery(
        person=person,
        kind=DeliveryKind.MORNING,
        occasion=day,
        state=DeliveryState.WANTED if news else DeliveryState.NOT_NEEDED,
        made_at=now,
        not_before=lines.end_of_quiet(wishes, now),
    )


def drop_older(delivery: Delivery) -> None:
    """Morning mails that could not be sent are overtaken by this later one: nobody gets two at once."""
    older = Delivery.objects.filter(
        person=delivery.person_id, kind=DeliveryKind.MORNING, state=DeliveryState.WANTED, pk__lt=delivery.pk
    )
    free = older.filter(Q(lease__isnull=True) | Q(lease_until__lt=clock.now()))
    free.update(state=DeliveryState.NOT_NEEDED, lease=None, lease_until=None, trouble="a later one took its place")
