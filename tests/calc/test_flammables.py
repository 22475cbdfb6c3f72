"""Flammable liquids: categories by their statements, and shares of a limit."""

import pytest

from shop.calc.flammables import PUBLISHED, category_of, share_of_limit


@pytest.mark.parametrize(
    ("statements", "category"),
    [
        (["H224"], 1),
        (["H225", "H319", "H336"], 2),
        (["H226"], 3),
        (["H227"], 4),
        (["H226", "H225"], 2),
        (["H319"], None),
        ([], None),
    ],
)
def test_the_gravest_statement_tells_the_category(statements, category):
    assert category_of(statements) == category


def test_a_share_of_a_limit():
    assert share_of_limit(2500, 5000) == 0.5
    assert share_of_limit(6000, 5000) == pytest.approx(1.2)
    for total, limit, name in ((-1, 5000, "total_ml"), (1, 0, "limit_ml"), (float("nan"), 1, "total_ml")):
        with pytest.raises(ValueError, match=name):
            share_of_limit(total, limit)


def test_every_published_figure_names_its_rule_and_its_categories():
    for one in PUBLISHED:
        assert one.source.startswith("29 CFR 1910.106")
        assert one.categories
        assert one.classes
