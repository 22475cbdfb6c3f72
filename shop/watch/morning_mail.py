"""The one mail a person gets in the morning: the wish for it, and what stands in it."""

from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from shop import clock
from shop.concern import Grade
from shop.people.models import Person
from shop.watch import line as lines
from shop.watch.models import Alert, Delivery, DeliveryKind, DeliveryState, Told, Wishes

#: A mail whose hour lies in the person's own quiet hours is wished for then and sent when they end.
_MORNING = timedelta(hours=6)


def standing(now: datetime) -> QuerySet[Alert]:
    """Alerts that stand and are not quiet at `now`, gravest first, then by how long they stand."""
    open_ones = Alert.objects.filter(ended_at__isnull=True, gone_since__isnull=True, settled_at__isnull=True)
    awake = open_ones.filter(Q(snoozed_until__isnull=True) | Q(snoozed_until__lte=now))
    return awake.select_related("taken_by", "with_person").order_by("-grade", "opened_at", "id")


def for_the_mail_of(person: Person, now: datetime) -> QuerySet[Alert]:
    """What `person` is written of: everything standing, less the topics they left out. A hold is never left out."""
    alerts = standing(now)
    for topic in lines.wishes_of(person).muted:
        alerts = alerts.exclude(Q(key__startswith=f"{topic}:") & Q(grade__lt=Grade.HOLD))
    return alerts


def new_to(person: Person, alerts: QuerySet[Alert]) -> QuerySet[Alert]:
    """Those of `alerts` that the person was told of by no mail at this grade or a graver one."""
    told = Told.objects.filter(person=person, alert=OuterRef("pk"), grade__gte=OuterRef("grade"))
    return alerts.filter(~Exists(told))


def in_reading_order(person: Person, alerts: QuerySet[Alert]) -> QuerySet[Alert]:
    """Gravest first, and among equals what is new to the person before what they were told of."""
    told = Told.objects.filter(person=person, alert=OuterRef("pk"), grade__gte=OuterRef("grade"))
    return alerts.annotate(was_told=Exists(told)).order_by("-grade", "was_told", "opened_at", "id")


#: Keys of what is true every morning until somebody sees to it: it stands in a mail, and is no reason to write one.
_no_news: set[str] = set()


def no_news(key: str) -> None:
    """Let a concern of this key cause no morning mail by itself."""
    _no_news.add(key)


def is_news(fresh: QuerySet[Alert]) -> bool:
    """Whether any of what is new to somebody is a reason to write to them."""
    return fresh.exclude(key__in=_no_news).exists()


def want_morning_mails(now: datetime | None = None) -> int:
    """Write the wish for today's morning mail of everybody whose hour has come; how many.

    Once for each person and local day, also after a week of standing still: the days in between are over. Whoever has
    nothing new to read gets none, and that is kept too, so that the mail stays a morning's.
    """
    now = now or clock.now()
    local = timezone.localtime(now)
    people = Person.objects.filter(is_active=True).exclude(email="").select_related("wishes").order_by("pk")
    due = [person for person in people if _has_come(lines.wishes_of(person), now)]
    day = local.date().isoformat()
    had = set(
        Delivery.objects.filter(kind=DeliveryKind.MORNING, occasion=day, person__in=due).values_list(
            "person", flat=True
        )
    )
    wanted = [_wish(person, day, now) for person in due if person.pk not in had]
    Delivery.objects.bulk_create(wanted, ignore_conflicts=True)
    return sum(delivery.state == DeliveryState.WANTED for delivery in wanted)


def _has_come(wishes: Wishes, now: datetime) -> bool:
    """Whether the hour of today's mail has come; in quiet hours after it, tomorrow's is waited for."""
    local = timezone.localtime(now)
    hour = lines.at_wall(local.date(), wishes.mail_at)
    return wishes.morning_mail and hour <= now and not (wishes.is_quiet_at(local.time()) and now - hour > _MORNING)


def _wish(person: Person, day: str, now: datetime) -> Delivery:
    news = is_news(new_to(person, for_the_mail_of(person, now)))
    return Delivery(
        person=person,
        kind=DeliveryKind.MORNING,
        occasion=day,
        state=DeliveryState.WANTED if news else DeliveryState.NOT_NEEDED,
        made_at=now,
        not_before=lines.end_of_quiet(lines.wishes_of(person), now),
    )


def drop_older(delivery: Delivery) -> None:
    """Morning mails that could not be sent are overtaken by this later one: nobody gets two at once."""
    older = Delivery.objects.filter(
        person=delivery.person_id, kind=DeliveryKind.MORNING, state=DeliveryState.WANTED, pk__lt=delivery.pk
    )
    free = older.filter(Q(lease__isnull=True) | Q(lease_until__lt=clock.now()))
    free.update(state=DeliveryState.NOT_NEEDED, lease=None, lease_until=None, trouble="a later one took its place")
