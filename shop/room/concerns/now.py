"""What the room worries about: readings outside the shop's limits, and the gas."""

from collections.abc import Iterator
from datetime import datetime

from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade, Quantity
from shop.people.fields import measured
from shop.people.models import Units
from shop.people.queries import the_room
from shop.room import queries
from shop.room.kinds import DEW_POINT, KINDS, Kind
from shop.room.models import Cylinder, Limit, LimitKind, Reading, ReadingKind
from shop.room.queries import Air, CylinderRack, GasState
from shop.room.wording import less_words, said, when
from shop.wording import per_cent

LIMIT_WORDS = {
    "hold_below": "hold below",
    "care_below": "care below",
    "care_above": "care above",
    "hold_above": "hold above",
}


def concerns(now: datetime) -> list[Concern]:
    """Today's readings against the shop's limits, the dew point, the cylinder in use, its spares and the empties.

    A reading of an earlier day raises nothing by itself: that none was taken is the morning check's to say.
    """
    room = the_room()
    latest = queries.latest_all()
    limits = queries.limits()
    rack = queries.cylinder_rack()
    today = {kind: reading for kind, reading in latest.items() if _is_of(reading.at, now)}
    return [
        *_outside_limits(today, limits, room),
        *_dew_point(queries.air_state(today), limits, room),
        *_gas(queries.gas_state(now, rack=rack, latest=latest), rack, room),
        *_empties(rack),
    ]


def _is_of(at: datetime, now: datetime) -> bool:
    return clock.day_of(at) == clock.day_of(now)


def _outside_limits(
    today: dict[ReadingKind, Reading], limits: dict[LimitKind, Limit], reader: Units
) -> Iterator[Concern]:
    for key, limit in limits.items():
        if key == LimitKind.DEW_POINT_C or (reading := today.get(ReadingKind(key))) is None:
            continue
        about = KINDS[ReadingKind(key)]
        yield from _against(key, about, reading.value, limit, f"Read {when(reading)}", reader)


def _dew_point(air: Air | None, limits: dict[LimitKind, Limit], reader: Units) -> Iterator[Concern]:
    limit = limits.get(LimitKind.DEW_POINT_C)
    if air is None or limit is None:
        return
    how = f"Reckoned from {said('temperature', air.celsius, reader)} and {said('humidity', air.rh, reader)}"
    besides = (measured("temperature", air.celsius, reader),)
    yield from _against(LimitKind.DEW_POINT_C, DEW_POINT, air.dew_point_c, limit, how, reader, besides)


def _against(
    key: LimitKind, about: Kind, value: float, limit: Limit, how: str, reader: Units, besides: tuple[Quantity, ...] = ()
) -> Iterator[Concern]:
    """The concern of one value that lies outside its limits. besides: the quantities that `how` tells."""
    crossed = queries.crossed(value, limit)
    if crossed is None:
        return
    grade, name = crossed
    edge = said(about.quantity, getattr(limit, name), reader)
    side = "below" if name.endswith("below") else "above"
    yield Concern(
        key=f"room:limit:{key}",
        grade=grade,
        subject=about.name,
        headline=f"{about.name} is {side} the shop's limit",
        reason=f"{how}: {said(about.quantity, value, reader)}. The shop's own limit: {LIMIT_WORDS[name]} {edge}.",
        what_to_do=limit.what_to_do or "Read it again; if it stays, put the cause right before cutting.",
        link=reverse("room:room") if key == LimitKind.DEW_POINT_C else reverse("room:reading", args=[key]),
        quantities=(
            *(measured(about.quantity, one, reader) for one in (value, getattr(limit, name))),
            *besides,
        ),
    )


def _gas(state: GasState | None, rack: CylinderRack, reader: Units) -> Iterator[Concern]:
    if state is None:
        yield Concern(
            key="room:gas:none",
            grade=Grade.HOLD,
            subject="Nitrogen",
            headline="No gas cylinder is connected",
            reason="The disc cannot be blown clean." + _standing_ready(rack.spares),
            what_to_do=_change_to(rack.spares, "Connect"),
            link=reverse("room:cylinders"),
        )
        return
    gauge = said("pressure", state.gauge_bar, reader)
    at = f"{gauge} at {said('temperature', state.celsius, reader)}{less_words(state.sides_since)}"
    quantities = (
        *(measured("pressure", bar, reader) for bar in (state.gauge_bar, state.use.reserve_bar)),
        measured("temperature", state.celsius, reader),
    )
    if state.is_below_reserve:
        yield Concern(
            key=f"room:gas:reserve:{state.cylinder.pk}",
            grade=Grade.HOLD,
            subject="Nitrogen",
            headline=f"Cylinder {state.cylinder.mark} is below the shop's reserve",
            reason=(
                f"The gauge shows {gauge}; the shop changes at {said('pressure', state.use.reserve_bar, reader)}."
                + _standing_ready(rack.spares)
            ),
            what_to_do=_change_to(rack.spares, "Change to"),
            link=state.cylinder.get_absolute_url(),
            quantities=quantities,
        )
    elif state.is_low:
        yield Concern(
            key=f"room:gas:low:{state.cylinder.pk}",
            grade=Grade.NOTE if rack.spares else Grade.CARE,
            subject="Nitrogen",
            headline=f"Cylinder {state.cylinder.mark} runs low",
            reason=f"{at}: {per_cent(state.share)} of the gas is left{_sides(state)}.{_standing_ready(rack.spares)}",
            what_to_do=_change_to(rack.spares, "Have ready"),
            link=state.cylinder.get_absolute_url(),
            quantities=quantities,
        )
    elif not rack.spares:
        yield Concern(
            key="room:gas:no-spare",
            grade=Grade.NOTE,
            subject="Nitrogen",
            headline="There is no full cylinder behind the one in use",
            reason=(
                f"Cylinder {state.cylinder.mark}: {at}, {per_cent(state.share)} of the gas is left{_sides(state)}."
                if state.read_at
                else f"Cylinder {state.cylinder.mark} is in use; its gauge was not read yet."
            ),
            what_to_do="Order one, and add it here when it is delivered.",
            link=reverse("room:cylinders"),
            quantities=quantities,
        )


def _sides(state: GasState) -> str:
    if state.sides_left is None:
        return ""
    return f", about {state.sides_left} side{'' if state.sides_left == 1 else 's'} above the reserve"


def _standing_ready(spares: list[Cylinder]) -> str:
    return f" Cylinder {spares[0].mark} stands ready, full." if spares else " No full cylinder stands ready."


def _change_to(spares: list[Cylinder], verb: str) -> str:
    if spares:
        return f"{verb} cylinder {spares[0].mark}."
    return "Order a full cylinder, and add it here when it is delivered."


def _empties(rack: CylinderRack) -> Iterator[Concern]:
    if not rack.empties:
        return
    marks = ", ".join(cylinder.mark for cylinder in rack.empties)
    many = len(rack.empties) > 1
    yield Concern(
        key="room:gas:empties",
        grade=Grade.NOTE,
        subject="Nitrogen",
        headline=f"{len(rack.empties)} empty cylinders wait to go back"
        if many
        else "An empty cylinder waits to go back",
        reason=f"Empty and still here: {marks}.",
        what_to_do="Keep the valve shut and the cap on; mark it returned when the supplier has taken it.",
        link=reverse("room:cylinders"),
    )
