"""The room as it is now."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop import clock
from shop.calc import units
from shop.concern import Grade
from shop.duties import queries as duties
from shop.people.fields import unit_for
from shop.people.models import Units
from shop.people.requests import PersonRequest
from shop.press.pages import may
from shop.room import actions, queries
from shop.room.bands import Band, band
from shop.room.kinds import DEW_POINT, KINDS, Kind
from shop.room.models import Limit, LimitKind, Reading, ReadingKind
from shop.room.wording import by_gauge, left_words, limit_words, volume_words, when

#: The meters that tell of the room itself, in the order shown.
METERS = ("chip", "line")


@dataclass(frozen=True)
class Card:
    """A value as the room's page shows it.

    number, sign: the value and its unit as the reader writes them; besides: what else it tells; grade: what it is worth
    under the shop's limits, None inside them.
    """

    about: Kind
    value: float | None
    number: str
    sign: str
    besides: str
    reading: Reading | None
    when: str
    is_today: bool
    grade: Grade | None
    band: Band | None
    limits: str


def _card(
    about: Kind,
    value: float | None,
    reading: Reading | None,
    limit: Limit | None,
    reader: Units,
    besides: str = "",
) -> Card:
    unit = unit_for(about.quantity, reader)
    crossed = queries.crossed(value, limit) if value is not None else None
    return Card(
        about=about,
        value=value,
        number=units.show_number(about.quantity, value, unit) if value is not None else "",
        sign=units.label(about.quantity, unit),
        besides=besides,
        reading=reading,
        when=when(reading) if reading else "",
        is_today=reading is not None and clock.day_of(reading.at) == clock.today(),
        grade=crossed[0] if crossed else None,
        band=band(about, limit, value),
        limits=limit_words(about, limit, reader),
    )


@require_safe
def room(request: PersonRequest) -> HttpResponse:
    """The latest of every kind against the shop's limits, the gas, the air's water, the meters of chip and line."""
    latest, limits, rack = queries.latest_all(), queries.limits(), queries.cylinder_rack()
    air = queries.air_state(latest)
    gas = queries.gas_state(clock.now(), rack=rack, latest=latest)

    def card(kind: ReadingKind) -> Card:
        reading = latest.get(kind)
        limit = limits.get(LimitKind(str(kind)))
        return _card(KINDS[kind], reading.value if reading else None, reading, limit, request.user)

    context = {
        "air_cards": [
            card(ReadingKind.ROOM_C),
            card(ReadingKind.ROOM_RH),
            _card(
                DEW_POINT,
                air.dew_point_c if air else None,
                None,
                limits.get(LimitKind.DEW_POINT_C),
                request.user,
                besides=f"{air.absolute_g_m3:.1f} g of water in each m³ of air" if air else "",
            ),
        ],
        "machine_cards": [
            card(ReadingKind.HOLD_DOWN_KPA),
            card(ReadingKind.CHIP_KPA),
            card(ReadingKind.HEATER_MA),
        ],
        "gas": gas,
        "gas_words": left_words(gas.share, gas.use) if gas else "",
        "gas_by": by_gauge(gas.read_at, gas.sides_since) if gas and gas.read_at else "",
        "gas_volume": volume_words(gas.volume_m3, request.user) if gas else "",
        "rack": rack,
        "meters": [state for state in duties.states() if state.meter.key in METERS],
        "may_take": may(request.user, actions.take_readings),
        "may_set": may(request.user, actions.change_limit),
    }
    return render(request, "room/room.html", context)
