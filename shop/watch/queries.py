"""Reading alerts, shaped for the pages."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from shop.jobs.registry import last_done
from shop.people.models import Person
from shop.watch.models import Alert, Delivery
from shop.watch.sweep import SWEEP


@dataclass(frozen=True)
class Standing:
    """Alerts that stand, each in one group: with the reader, waiting for somebody, looked after by another, quiet; and
    those whose worry is away already, which end if it stays so. as_of: when the last sweep began, None before any."""

    mine: list[Alert]
    waiting: list[Alert]
    looked_after: list[Alert]
    quiet: list[Alert]
    going: list[Alert]
    as_of: datetime | None

    @property
    def count(self) -> int:
        return len(self.mine) + len(self.waiting) + len(self.looked_after) + len(self.quiet) + len(self.going)


def standing(reader: Person, now: datetime) -> Standing:
    """All alerts that have not ended, gravest first; two queries."""
    swept = last_done(SWEEP)
    found = Standing([], [], [], [], [], swept.started_at if swept else None)
    rows = Alert.objects.filter(ended_at__isnull=True).select_related("taken_by", "with_person")
    for alert in rows.order_by("-grade", "opened_at", "id"):
        _group(found, alert, reader, now).append(alert)
    return found


def _group(found: Standing, alert: Alert, reader: Person, now: datetime) -> list[Alert]:
    if alert.gone_since is not None:
        return found.going
    if alert.is_quiet(now):
        return found.quiet
    if alert.taken_by_id is not None:
        return found.mine if alert.taken_by_id == reader.pk else found.looked_after
    return found.mine if alert.with_person_id == reader.pk else found.waiting


def ended() -> QuerySet[Alert]:
    """Alerts that are over, latest first."""
    return Alert.objects.filter(ended_at__isnull=False).select_related("taken_by").order_by("-opened_at", "-id")


def earlier(alert: Alert) -> Iterable[Alert]:
    """The same worry before: the last ten alerts of its key."""
    return Alert.objects.filter(key=alert.key).exclude(pk=alert.pk).order_by("-id")[:10]


def deliveries() -> QuerySet[Delivery]:
    return Delivery.objects.select_related("person", "alert").order_by("-made_at", "-id")
