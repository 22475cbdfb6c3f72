"""Reading the texts of statements: combined codes, gaps, and what there is not."""

import pytest
from django.template import Context, Template

from shop.calc import ghs
from shop.safety.statements import has_gap, is_known, statement, texts


def test_a_combined_code_has_its_own_text():
    assert statement("p303 + P361 + P353") == (
        "IF ON SKIN (or hair): Take off immediately all contaminated clothing. Rinse skin with water [or shower]."
    )
    assert statement("P361+P364") == "Take off immediately all contaminated clothing and wash it before reuse."


def test_what_is_seldom_combined_is_joined():
    assert statement("P304+P340+P330") == (
        "IF INHALED: Remove person to fresh air and keep comfortable for breathing. Rinse mouth."
    )


def test_every_listed_p_combination_is_what_joining_gives_but_for_those_that_are_worded_anew():
    worded_anew = {"P302+P334", "P336+P317", "P361+P364", "P362+P364"}
    combined = [code for code in texts() if code.startswith("P") and "+" in code]
    differ = {code for code in combined if statement(code) != " ".join(statement(one) for one in ghs.parts(code))}
    assert differ == worded_anew
    assert len(combined) > 40


@pytest.mark.parametrize("code", ["H999", "P999", "EUH999", "P303+P999"])
def test_a_code_that_there_is_not_is_refused(code):
    assert not is_known(code)
    with pytest.raises(ValueError, match="there is no"):
        statement(code)


def test_h_codes_are_combined_only_as_the_lists_do():
    assert statement("H302+H332") == "Harmful if swallowed or if inhaled."
    with pytest.raises(ValueError, match="Give each by itself"):
        statement("H225+H319")


@pytest.mark.parametrize(
    ("code", "fill", "text"),
    [
        ("P370+P378", "water in plenty", "In case of fire: Use water in plenty to extinguish."),
        ("P501", "the waste contractor.", "Dispose of contents/container to the waste contractor."),
        ("P280", "protective gloves and eye protection", "Wear protective gloves and eye protection."),
        ("P264", "hands", "Wash hands thoroughly after handling."),
        ("P301+P310", "a doctor", "IF SWALLOWED: Immediately call a doctor."),
    ],
)
def test_the_suppliers_words_fill_the_gap(code, fill, text):
    assert has_gap(code)
    assert statement(code, fill) == text


def test_a_text_without_a_gap_takes_no_words():
    assert not has_gap("P233")
    with pytest.raises(ValueError, match="P233 has no gap"):
        statement("P233", "always")


def test_every_h_code_of_a_class_has_a_text():
    named = {code for one in ghs.CLASSES.values() for each in one.categories for code in each.h_codes}
    assert named <= set(texts())
    single = {code for code in texts() if code.startswith("H") and "+" not in code}
    assert single - named == {"H209", "H210", "H211"}, "explosives as revision 9 orders them anew"


def test_every_gap_stands_once_in_its_text():
    for one in texts().values():
        assert not one.gap or one.text.count(one.gap) == 1
        assert one.text.endswith((".", ":"))
        assert one.source


def test_a_template_says_a_code_in_words():
    told = Template('{% load safety %}{{ "H225"|statement }}').render(Context())
    assert told == "Highly flammable liquid and vapour."
