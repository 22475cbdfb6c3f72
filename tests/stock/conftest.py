"""A shelf to look at."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.stock import actions, claims
from shop.stock.claims import Claim
from shop.stock.models import Defect
from tests.stock.makers import make_defect, make_item, make_lot, make_supplier, once


@pytest.fixture
def stocked(engineer):
    """An item with a usable, a held and an empty lot, and one of each other thing that has a page."""
    supplier = make_supplier(engineer)
    item = make_item(engineer, supplier=supplier, minimum=4)
    lot = make_lot(engineer, item, 10, code="A1", supplier=supplier, best_before=clock.today() + timedelta(days=20))
    held = make_lot(engineer, item, 3, code="A2")
    actions.hold_lot(by=engineer, once=uuid4(), lot=held, why="dull")
    empty = make_lot(engineer, item, 1, code="A0")
    actions.spoil_stock(by=engineer, once=uuid4(), lot=empty, quantity=1, defect=make_defect(engineer))
    return {"item": item, "lot": lot, "held": held, "supplier": supplier, "defect": Defect.objects.get()}


@pytest.fixture
def march(room_row, at):
    """It is the morning of 3 March 2025."""
    with at("2025-03-03 09:00"):
        yield


@pytest.fixture
def supplier(engineer):
    """Promises five weeks, and takes orders by mail."""
    return make_supplier(engineer, "Faraway Lacquer", lead_days=35, contact="orders@faraway.example")


@pytest.fixture
def item(engineer, supplier):
    """Blanks that come in packs of 25, no fewer than 50."""
    item = make_item(engineer, minimum=20, supplier=supplier)
    return actions.plan_item(by=engineer, once=once(), item=item, version=1, pack_size=25, minimum_order=50)


@pytest.fixture
def claimed(monkeypatch):
    """What bookings will take: put in by the test."""
    wanted: list[Claim] = []
    monkeypatch.setattr(claims, "_questions", {})
    claims.register_claims("bookings", lambda day: wanted)
    return wanted
