"""What stock puts into the calendar: the days on which orders are expected."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from shop import clock
from shop.happening import Happening
from shop.stock.models import Order, OrderState

#: How far back orders are told of.
_BACK = timedelta(days=60)


def happenings(now: datetime) -> Iterator[Happening]:
    """Orders that were sent and have a day; one closed short before all of it came is called off. One query."""
    since = clock.day_of(now) - _BACK
    orders = Order.objects.filter(expected_on__gte=since, sent_on__isnull=False).select_related("supplier")
    for order in orders.order_by("id"):
        yield Happening(
            uid=f"stock:order:{order.pk}",
            title=f"Expected: {order} from {order.supplier.name}",
            start=order.received_on or order.expected_on or order.sent_on or clock.day_of(now),
            note=f"{order.get_state_display()}.",
            link=order.get_absolute_url(),
            is_cancelled=order.state == OrderState.CLOSED,
        )
