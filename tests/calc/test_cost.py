"""What a side costs, and what stock is worth."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.cost import Worth, cost_of_side, worth


def test_each_part_by_hand() -> None:
    cost = cost_of_side(
        cut_hours=0.4,
        blank_price=30,
        spoiled_share=0.2,
        stylus_price=100,
        stylus_hours=20,
        gas_m3=0.05,
        gas_price_per_m3=8,
        care_per_cut_hour=5,
    )
    assert cost.blanks_per_good_side == pytest.approx(1.25)
    assert cost.blanks == pytest.approx(37.5)
    assert cost.stylus == pytest.approx(1.25 * 0.4 / 20 * 100)
    assert cost.gas == pytest.approx(1.25 * 0.4)
    assert cost.care == pytest.approx(1.25 * 2)
    assert cost.total == pytest.approx(37.5 + 2.5 + 0.5 + 2.5)


def test_what_is_spoiled_early_wears_less() -> None:
    whole = cost_of_side(cut_hours=0.4, blank_price=30, spoiled_share=0.2, stylus_price=100, stylus_hours=20)
    early = cost_of_side(
        cut_hours=0.4, blank_price=30, spoiled_share=0.2, spoiled_part=0, stylus_price=100, stylus_hours=20
    )
    assert early.blanks == whole.blanks
    assert early.stylus == pytest.approx(0.4 / 20 * 100)


@pytest.mark.parametrize(
    ("wrong", "name"),
    [
        ({"cut_hours": 0}, "cut_hours"),
        ({"blank_price": -1}, "blank_price"),
        ({"spoiled_share": 1}, "spoiled_share"),
        ({"spoiled_part": 1.1}, "spoiled_part"),
        ({"stylus_hours": 0}, "stylus_hours"),
        ({"gas_m3": float("nan")}, "gas_m3"),
        ({"care_per_cut_hour": -1}, "care_per_cut_hour"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(wrong: dict[str, float], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must be"):
        cost_of_side(**{"cut_hours": 0.4, "blank_price": 30, **wrong})


@given(share=st.floats(0, 0.99), part=st.floats(0, 1), price=st.floats(0, 1e9))
def test_spoiling_never_makes_it_cheaper(share: float, part: float, price: float) -> None:
    sound = cost_of_side(cut_hours=0.4, blank_price=price, stylus_price=price)
    spoiled = cost_of_side(cut_hours=0.4, blank_price=price, spoiled_share=share, spoiled_part=part, stylus_price=price)
    assert spoiled.total >= sound.total * (1 - 1e-12)


# What stock is worth --------------------------------------------------------------------------------------------------


def test_stock_is_worth_what_its_lots_cost_to_the_cent() -> None:
    found = worth([(3, Decimal("0.10")), (7, Decimal("0.20")), (5, None), (0, Decimal("9"))])
    assert (found.value, found.priced, found.unpriced) == (Decimal("1.70"), 10, 5)
    assert found.mean_cost == Decimal("0.17")
    assert found.with_the_rest == Decimal("2.55")


def test_without_any_cost_there_is_no_mean() -> None:
    assert worth([(4, None)]) == Worth(Decimal(0), 0, 4)
    assert worth([]).with_the_rest is None


@given(
    taken=st.lists(
        st.tuples(st.integers(0, 1000), st.none() | st.decimals(0, 1000, places=4, allow_nan=False)), max_size=20
    )
)
def test_worth_adds_up_in_any_order_and_parts(taken: list[tuple[int, Decimal | None]]) -> None:
    whole = worth(taken)
    assert worth(reversed(taken)) == whole
    assert worth(taken[:5]).value + worth(taken[5:]).value == whole.value
    assert whole.priced + whole.unpriced == sum(quantity for quantity, _ in taken)


@pytest.mark.parametrize(
    ("quantity", "cost", "name"),
    [(-1, 1, "quantity"), (1, -1, "cost"), (1, Decimal("NaN"), "cost"), (1, 0.5, "cost"), (1, True, "cost")],
)
def test_worth_refuses_what_makes_no_sense(quantity: int, cost: Any, name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        worth([(quantity, cost)])
