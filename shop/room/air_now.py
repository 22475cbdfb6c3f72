"""Whether the air of now asks for talc in the vacuum line."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from shop import clock
from shop.people.models import Units
from shop.room.models import LineRules, Reading, ReadingKind
from shop.room.queries import NEAR, Air, air_state, latest_all
from shop.room.wording import said


@dataclass(frozen=True)
class TalcNow:
    """air: of today, as last read; is_due: it is humid beyond the shop's own dew point, and no treatment holds."""

    air: Air
    is_humid: bool
    is_due: bool


def talc_due(dew_point_c: float, rules_dew_c: float | None, holds: int, talced: datetime | None, now: datetime) -> bool:
    """Whether talc is due at a dew point: at or over the shop's own, and the last treatment is too long ago."""
    if rules_dew_c is None or dew_point_c < rules_dew_c:
        return False
    return talced is None or now - talced > timedelta(days=holds)


def _of_today(now: datetime) -> dict[ReadingKind, Reading]:
    latest = latest_all(kinds=(ReadingKind.ROOM_C, ReadingKind.ROOM_RH))
    return {kind: each for kind, each in latest.items() if clock.day_of(each.at) == clock.day_of(now)}


def why_no_dew_point(now: datetime, reader: Units) -> str:
    """Why there is no dew point of today, where there is none."""
    today = _of_today(now)
    warm, damp = today.get(ReadingKind.ROOM_C), today.get(ReadingKind.ROOM_RH)
    if warm is None and damp is None:
        return "The air was not read today."
    if warm is None or damp is None:
        read, missing = ("humidity", "temperature") if warm is None else ("temperature", "humidity")
        return f"Today the room's {read} was read and its {missing} was not: a dew point needs both."
    return no_dew_point(warm, damp, reader)


def no_dew_point(warm: Reading, damp: Reading, reader: Units) -> str:
    """Why a temperature and a humidity that were both read make no dew point."""
    if abs(warm.at - damp.at) > NEAR:
        return "Temperature and humidity were read too far apart to make a dew point."
    air = f"{said('temperature', warm.value, reader)} and {said('humidity', damp.value, reader)}"
    return f"{air} make no dew point: no room has such air. Read it again, and correct what is wrong."


def talc_now(rules: LineRules, now: datetime) -> TalcNow | None:
    """Of today's air; None while that makes no dew point: why_no_dew_point tells why."""
    air = air_state(_of_today(now))
    if air is None:
        return None
    entry = rules.talc_duty.last_entry if rules.talc_duty else None
    return TalcNow(
        air=air,
        is_humid=rules.talc_dew_c is not None and air.dew_point_c >= rules.talc_dew_c,
        is_due=talc_due(air.dew_point_c, rules.talc_dew_c, rules.talc_days, entry.at if entry else None, now),
    )
