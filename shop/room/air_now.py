"""Whether the air of now asks for talc in the vacuum line."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from shop import clock
from shop.room.models import LineRules, ReadingKind
from shop.room.queries import Air, air_state, latest_all


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


def talc_now(rules: LineRules, now: datetime) -> TalcNow | None:
    """Of today's air; None while it was not read today."""
    latest = latest_all(kinds=(ReadingKind.ROOM_C, ReadingKind.ROOM_RH))
    today = {kind: each for kind, each in latest.items() if clock.day_of(each.at) == clock.day_of(now)}
    air = air_state(today)
    if air is None:
        return None
    entry = rules.talc_duty.last_entry if rules.talc_duty else None
    return TalcNow(
        air=air,
        is_humid=rules.talc_dew_c is not None and air.dew_point_c >= rules.talc_dew_c,
        is_due=talc_due(air.dew_point_c, rules.talc_dew_c, rules.talc_days, entry.at if entry else None, now),
    )
