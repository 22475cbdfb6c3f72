"""How a list is written into a file."""

import pytest

from shop.carrying import writing


@pytest.mark.parametrize("text", ["\tx", "\rx", "\nx", "=x", "+x", "-x", "@x", "-3 boxes", "+44 20 7946", "--3", "=3"])
def test_each_beginning_is_made_harmless(text):
    assert writing.harmless(text) == f"'{text}"


@pytest.mark.parametrize("text", ["-3", "+3", "-3.5", "-3,5", "x=1", "", "a-b", "'quoted"])
def test_what_is_no_formula_stays_as_it_is(text):
    assert writing.harmless(text) == text
