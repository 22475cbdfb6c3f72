"""What the watch itself is worried about: that somebody who should be told was not."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.urls import reverse

from shop.concern import Concern, Grade
from shop.watch.line import the_line
from shop.watch.models import Delivery, DeliveryState

#: A mail that was given up is a worry for so long: by then the owner has seen it or another was tried.
_FRESH = timedelta(days=3)


def concerns(now: datetime) -> Iterator[Concern]:
    """Mails given up in the last days, and a room in which nobody could be written to."""
    lost = Delivery.objects.filter(state=DeliveryState.GIVEN_UP, made_at__gt=now - _FRESH).select_related("person")
    given_up = list(lost.order_by("-id")[:20])
    if given_up:
        names = sorted({delivery.person.name for delivery in given_up})
        yield Concern(
            key="watch:given-up",
            grade=Grade.CARE,
            subject="Mail",
            headline=f"Mail to {', '.join(names)} could not be sent",
            reason=f"{len(given_up)} in the last three days. The latest trouble: {given_up[0].trouble}",
            what_to_do="Look at the address and the mail server, and tell them what they missed.",
            link=reverse("watch:deliveries"),
        )
    line = the_line()
    if not any(line.hears_at_once(person) for person in line.people) and not line.told_regardless():
        yield Concern(
            key="watch:nobody",
            grade=Grade.NOTE,
            subject="Mail",
            headline="Nobody would hear of a hold by mail",
            reason="No engineer and no owner has an address here, so alerts are seen only by who looks at the page.",
            what_to_do="Give at least one owner an address.",
            link=reverse("people:people"),
        )
