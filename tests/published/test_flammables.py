"""Figures for the storage of flammable liquids in United States general industry, rows S-1 to S-11."""

import pytest

from shop.calc.flammables import COUNTED, GALLON_ML, PUBLISHED, category_of
from tests.published.oracles import oracle


def of(categories, place):
    return next(one for one in PUBLISHED if one.categories == categories and place in one.where)


def test_outside_a_cabinet():
    """S-1: 29 CFR 1910.106(e)(2)(ii)(b), read in the wording by classes (OSHA letters of 1983-03-31 and 2003-12-02):
    25 gal of Class IA; 120 gal of IB, IC, II, III. S-3: the wording by categories of 2012 is from memory.
    """
    first, rest = of((1,), "outside"), of((2, 3, 4), "outside")
    assert (first.gallons, first.classes, rest.gallons) == (25, "Class IA", 120)
    assert {first.source, rest.source} == {"29 CFR 1910.106(e)(2)(ii)(b)"}


def test_the_limits_stand_side_by_side():
    """S-2: OSHA memo of 1983-03-31: together up to 805 gal, 660 of them in one portable tank."""
    outside = sum(one.gallons for one in PUBLISHED if "outside" in one.where)
    assert outside + 660 == 805


def test_in_a_cabinet():
    """S-4: 29 CFR 1910.106(d)(3)(i): 60 gal of categories 1, 2, 3; 120 gal of category 4."""
    assert of((1, 2, 3), "cabinet").gallons == 60
    assert of((4,), "cabinet").gallons == 120
    assert of((1, 2, 3), "cabinet").categories == COUNTED


@pytest.mark.parametrize(("gallons", "litres"), [(25, 94.64), (60, 227.12), (120, 454.25), (660, 2498.4)])
def test_litres(gallons, litres):
    """S-11: a US gallon is 231 cubic inches of 25.4 mm exactly."""
    assert pytest.approx(231 * 25.4**3 / 1000, rel=1e-12) == GALLON_ML
    assert gallons * GALLON_ML / 1000 == pytest.approx(litres, abs=0.05)


def test_the_25_gallon_line_is_not_for_acetone_and_propan_2_ol():
    """S-10, trap 9: both are H225, category 2 (the NIOSH guide prints Class IB for propan-2-ol): 120 gal, not 25.

    S-9: category 2 is a flash point below 23 C and boiling above 35 C (1910.1200 appendix B.6); flash points and
    boiling points by the chemicals library (IEC 60079-20-1, NFPA 497).
    """
    chemicals = oracle("chemicals")
    for cas in ("67-64-1", "67-63-0"):
        assert chemicals.T_flash(cas) < 273.15 + 23
        assert chemicals.Tb(cas) > 273.15 + 35
    category = category_of(["H225", "H319", "H336"])
    assert (category, [one.gallons for one in PUBLISHED if "outside" in one.where and category in one.categories]) == (
        2,
        [120],
    )
