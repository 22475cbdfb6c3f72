"""Keeping what the outlook for gas came to, so that today's page need not reckon."""

from django.db import transaction

from shop import clock
from shop.people.queries import the_room
from shop.room import queries
from shop.room.models import GasForecast


def keep_gas_forecast() -> str:
    """Work out the outlook for gas and keep it; where no cylinder is connected, keep nothing."""
    now = clock.now()
    with clock.in_zone(the_room().zone), transaction.atomic():
        rack = queries.cylinder_rack()
        state = queries.gas_state(now, rack=rack)
        if state is None or state.read_at is None:
            GasForecast.objects.all().delete()
            return "nothing to go by"
        found = queries.forecast_of(state, queries.gas_outlook(state, rack), now)
        GasForecast.objects.update_or_create(
            pk=1,
            defaults={
                name: getattr(found, name)
                for name in (
                    *("cylinder", "worked_at", "change_soonest", "change_likely", "order_by", "spares"),
                    *queries.HABIT,
                )
            },
        )
    return f"order by {found.order_by}" if found.order_by else "lasts beyond what is told"
