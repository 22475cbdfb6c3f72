"""Whatever is sent is read, asked about or refused with a sentence: it never breaks off, and writes nothing."""

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop.stock.models import IntakeState, Item, Lot, SheetKind
from tests.stock.makers import make_item
from tests.stock.sheets.makers import as_csv, as_xlsx, send

pytestmark = pytest.mark.django_db

_CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["14-inch blank", "K1", "5", "-5", "1,234", "1.5", "03/04/2025", "25/12/2024", "12/25/2024", ""]),
    st.from_regex(r"[0-9]{1,4}[-/.,][0-9]{1,4}([-/.,][0-9]{1,4})?", fullmatch=True),
)
_HEADINGS = ["Item", "Lot", "On hand", "Made on", "Best before", "Cost of one", "Unit", "Supplier", "Why on hold"]
_FINE = {IntakeState.FAULTY, IntakeState.ASKS, IntakeState.READY}
_settings = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])


@_settings
@given(st.lists(st.lists(_CELLS, min_size=9, max_size=9), max_size=6), st.sampled_from(",;\t"))
def test_any_cells(engineer, rows, separator):
    if not Item.objects.exists():
        make_item(engineer)
    content = as_csv(*(separator.join(row) for row in [_HEADINGS, *rows]))
    assert send(engineer, SheetKind.LOTS, content).state in _FINE
    assert not Lot.objects.exists()


@_settings
@given(st.binary(max_size=300), st.sampled_from(["x.csv", "x.xlsx", "x.txt", "x"]))
def test_any_bytes(engineer, content, name):
    assert send(engineer, SheetKind.SUPPLIERS, content or b" ", name).state in _FINE


@_settings
@given(st.integers(0, 2**32), st.integers(1, 40))
def test_a_workbook_with_bytes_knocked_over(engineer, seed, many):
    content = bytearray(as_xlsx(["Supplier", "Lead days"], ["A", 4], ["B", "x"]))
    chance = random.Random(seed)
    for _ in range(many):
        content[chance.randrange(len(content))] = chance.randrange(256)
    assert send(engineer, SheetKind.SUPPLIERS, bytes(content), "x.xlsx").state in _FINE


@pytest.mark.parametrize("day", ["0/1/2025", "1/0/2025", "1/2/0000"])
def test_a_day_that_there_is_in_neither_order_is_a_fault(engineer, day):
    """Found by the test above: it was asked which order it is in, and reading broke off."""
    sent = f"Item,Lot,On hand,Best before\r\nTalc,T-1,4,{day}\r\n".encode()
    assert send(engineer, SheetKind.LOTS, sent).state == IntakeState.FAULTY
