"""Makers of cylinders and readings, by the same actions a person would use."""

from datetime import datetime
from typing import Any
from uuid import uuid4

from shop.people.models import Person
from shop.refusal import Doubtful
from shop.room import actions
from shop.room.models import Cylinder, Limit, Reading, ReadingKind, StandingTest
from tests.makers import anyway

#: Full, 11.2 kg of nitrogen (check value C-7: 50 L at 200 bar g and 15 °C).
CYLINDER = {"water_volume_l": 50.0, "service_bar": 200.0, "fill_bar": 200.0, "fill_c": 15.0}


def add_cylinder(by: Person, mark: str = "N-17", **other: Any) -> Cylinder:
    return actions.add_cylinder(by=by, once=uuid4(), mark=mark, **{**CYLINDER, **other})


def connect_cylinder(by: Person, cylinder: Cylinder, at: datetime | None = None) -> Cylinder:
    return actions.connect_cylinder(by=by, once=uuid4(), cylinder=cylinder, at=at)


def connected_cylinder(by: Person, mark: str = "N-17", **other: Any) -> Cylinder:
    return connect_cylinder(by, add_cylinder(by, mark, **other))


def empty_cylinder(by: Person, cylinder: Cylinder, at: datetime | None = None, sure: tuple[str, ...] = ()) -> Cylinder:
    return actions.empty_cylinder(by=by, once=uuid4(), cylinder=cylinder, at=at, sure=sure)


def begin_standing_test(
    by: Person, cylinder: Cylinder, gauge_bar: float = 180.0, celsius: float = 20.0, at: datetime | None = None
) -> StandingTest:
    return anyway(actions.begin_standing_test, by=by, cylinder=cylinder, gauge_bar=gauge_bar, celsius=celsius, at=at)


def end_standing_test(
    by: Person, test: StandingTest, gauge_bar: float = 180.0, celsius: float = 20.0, at: datetime | None = None
) -> StandingTest:
    return anyway(actions.end_standing_test, by=by, test=test, gauge_bar=gauge_bar, celsius=celsius, at=at)


def take(by: Person, *, sure: tuple[str, ...] = (), at: datetime | None = None, **values: float) -> Reading:
    """`take(person, room_c=21.0, room_rh=45.0)`: several readings of one moment; the first is returned."""
    return actions.take_readings(
        by=by, once=uuid4(), values={ReadingKind(kind): value for kind, value in values.items()}, at=at, sure=sure
    )


def take_anyway(by: Person, *, at: datetime | None = None, **values: float) -> Reading:
    """Readings that the room would ask about, confirmed."""
    sure: tuple[str, ...] = ()
    while True:
        try:
            return take(by, at=at, sure=sure, **values)
        except Doubtful as asked:  # the gauge may be asked about once the temperature is confirmed
            sure = (*sure, *(doubt.key for doubt in asked.doubts))


def set_limit(kind: str, **limits: Any) -> Limit:
    return Limit.objects.create(kind=kind, **limits)
