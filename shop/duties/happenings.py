"""What care puts into the calendar: each duty on the day it is next due, or expected by its meter."""

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Q

from shop.duties.queries import in_full
from shop.happening import Happening


def happenings(now: datetime) -> Iterator[Happening]:
    """One for each active duty that has a day; done or put off, the same moves on to the next. One query."""
    dated = in_full().filter(Q(due_on__isnull=False) | Q(expected_on__isnull=False), is_active=True).order_by("id")
    for duty in dated:
        by_meter = duty.due_on is None or (duty.expected_on is not None and duty.expected_on < duty.due_on)
        start = duty.expected_on if by_meter else duty.due_on
        if start is None:
            continue
        yield Happening(
            uid=f"duties:next:{duty.pk}",
            title=f"{duty.name}{', about then by its meter' if by_meter else ''}",
            start=start,
            note=f"{duty.how_often[:1].upper()}{duty.how_often[1:]}. For {duty.whose}.",
            link=duty.get_absolute_url(),
        )
