"""Very many rows at once: the same as one by one, with keys that stay one's own."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.forms import model_to_dict

from shop import bulk, clock
from shop.stock.models import Lot, Supplier
from tests.stock.makers import make_item, make_lot, make_supplier

pytestmark = pytest.mark.django_db


def lot(item, code, **other):
    return Lot(item=item, code=code, received_on=clock.today(), unit_cost=Decimal("1.5"), on_hand=3, **other)


def test_rows_are_as_saved_one_by_one(engineer):
    item = make_item(engineer)
    one = lot(item, "A")
    one.save()
    bulk.insert([lot(item, "B"), lot(item, "C")])
    kept = {row.code: model_to_dict(row) | {"id": 0, "code": ""} for row in Lot.objects.all()}
    assert kept["A"] == kept["B"] == kept["C"]


def test_keys_are_given_in_advance_and_to_nobody_else(engineer):
    item = make_item(engineer)
    first, second = bulk.reserve_keys(Lot, 2)
    bulk.insert([lot(item, "A", id=first), lot(item, "B", id=second)])
    after = make_lot(engineer, item, 1, code="C")
    assert after.pk > second > first
    Lot.objects.filter(code="B").delete()
    assert bulk.reserve_keys(Lot, 1)[0] > second


def test_the_database_refuses_as_ever(engineer):
    make_supplier(engineer, "Quill")
    with pytest.raises(IntegrityError), transaction.atomic():
        bulk.insert([Supplier(name="Other"), Supplier(name="Quill")])
    assert Supplier.objects.count() == 1
    bulk.insert([])
