"""A shelf to look at."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.stock import actions
from shop.stock.models import Defect
from tests.stock.makers import make_defect, make_item, make_lot, make_supplier


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
