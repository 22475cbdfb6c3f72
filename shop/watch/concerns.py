"""What the watch itself is worried about: mail that did not go."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.urls import reverse

from shop.concern import Concern, Grade
from shop.watch.models import Delivery, DeliveryState

#: A mail that was given up is a worry for so long: by then the owner has seen it or another was tried.
_FRESH = timedelta(days=3)


def concerns(now: datetime) -> Iterator[Concern]:
    """Mails given up in the last days: a note, for it says nothing against cutting. One query."""
    lost = Delivery.objects.filter(state=DeliveryState.GIVEN_UP, made_at__gt=now - _FRESH)
    given_up = list(lost.order_by("-id").values_list("person__name", "trouble")[:20])
    if given_up:
        names = sorted({name for name, _ in given_up})
        yield Concern(
            key="watch:given-up",
            grade=Grade.NOTE,
            subject="Mail",
            headline=f"Mail to {', '.join(names)} could not be sent",
            reason=f"Given up in the last three days. The latest trouble: {given_up[0][1]}",
            what_to_do="Look at the address and the mail server, and tell them what they missed.",
            link=reverse("watch:deliveries"),
        )
