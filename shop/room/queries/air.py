"""What temperature and humidity make together."""

from dataclasses import dataclass
from datetime import datetime

from shop.calc import air
from shop.room.models import Reading, ReadingKind
from shop.room.queries.readings import NEAR


@dataclass(frozen=True)
class Air:
    """What temperature and humidity make together. read_at: the earlier of the two readings."""

    celsius: float
    rh: float
    dew_point_c: float
    absolute_g_m3: float
    read_at: datetime


def air_state(
    latest: dict[ReadingKind, Reading],
    *,
    celsius: ReadingKind = ReadingKind.ROOM_C,
    humidity: ReadingKind = ReadingKind.ROOM_RH,
) -> Air | None:
    """Dew point and water in the air; None where the two were not read near each other or the air holds none.

    celsius, humidity: the readings of which place.
    """
    warm, damp = latest.get(celsius), latest.get(humidity)
    if warm is None or damp is None or abs(warm.at - damp.at) > NEAR or damp.value <= 0:
        return None
    try:
        dew = air.dew_point_c(warm.value, damp.value)
        water = air.absolute_humidity_g_m3(warm.value, damp.value)
    except ValueError:  # a confirmed reading can lie outside the range of the formula
        return None
    return Air(celsius=warm.value, rh=damp.value, dew_point_c=dew, absolute_g_m3=water, read_at=min(warm.at, damp.at))
