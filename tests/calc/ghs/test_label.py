"""Labels: what is refused, and what the rules leave. The sources of the rules: tests/published/test_labels.py."""

import pytest

from shop.calc import ghs
from shop.calc.ghs import Classified


def test_every_category_names_pictograms_that_there_are_and_a_known_signal_word():
    for one in ghs.CLASSES.values():
        for each in one.categories:
            assert set(each.pictograms) <= set(ghs.PICTOGRAMS)
            assert each.signal in ("", *ghs.SIGNALS)
            assert bool(each.h_codes) or not each.signal


def test_a_class_that_there_is_not_is_refused():
    with pytest.raises(ValueError, match="hazard_class must be a class of the GHS"):
        ghs.label([Classified("slippery", "1", "H225")])


def test_a_category_that_the_class_has_not_is_refused_with_those_it_has():
    with pytest.raises(ValueError, match="must be one of 1, 2, 3, 4, not '5'"):
        ghs.label([Classified("flammable-liquid", "5", "H225")])


def test_a_statement_of_another_category_is_refused():
    with pytest.raises(ValueError, match="must be H225, not 'H224'"):
        ghs.label([Classified("flammable-liquid", "2", "H224")])


def test_nothing_classified_gives_an_empty_label():
    assert ghs.label([]) == ghs.Label("", (), (), (), ())


def test_two_statements_of_one_category_stand_both():
    label = ghs.label([Classified("target-organ-once", "3", "H336"), Classified("target-organ-once", "3", "H335")])
    assert label.h_codes == ("H335", "H336")


def test_only_the_gravest_category_of_a_class_is_drawn():
    label = ghs.label([Classified("eyes", "2", "H319"), Classified("eyes", "1", "H318")])
    assert label.pictograms == ("GHS05",)
    assert label.signal == "Danger"


def test_what_is_not_a_signal_word_is_refused():
    with pytest.raises(ValueError, match="words must be Danger or Warning, not 'Caution'"):
        ghs.one_signal(["Caution"])


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("H225", ("H225",)),
        (" p303 + p361+P353 ", ("P303", "P361", "P353")),
        ("euh066", ("EUH066",)),
        ("EUH 066", ("EUH066",)),
        ("H360Fd", ("H360Fd",)),
        ("h350i", ("H350i",)),
    ],
)
def test_codes_are_read_as_people_write_them(typed, found):
    assert ghs.parts(typed) == found
    assert ghs.written(typed) == "+".join(found)


@pytest.mark.parametrize("typed", ["", "225", "H22", "H2255", "P303+", "P303+H225", "R11", "H225,H319", "+"])
def test_what_is_no_code_is_refused(typed):
    with pytest.raises(ValueError, match="code must"):
        ghs.parts(typed)


def test_codes_stand_in_the_order_of_the_lists():
    assert sorted(["P210", "EUH066", "H319", "H225"], key=ghs.sort_key) == ["H225", "H319", "EUH066", "P210"]


def test_which_classes_have_a_statement():
    assert [(one.slug, each.name) for one, each in ghs.classes_of("H207")] == [
        ("desensitised-explosive", "2"),
        ("desensitised-explosive", "3"),
    ]
    assert ghs.classes_of("H999") == []


@pytest.mark.parametrize("number", ["67-64-1", "67-63-0", "9004-70-0", "14807-96-6", "7727-37-9", " 7732-18-5 "])
def test_a_cas_number_with_its_check_digit_is_taken(number):
    assert ghs.checked_cas(number) == number.strip()


@pytest.mark.parametrize("number", ["67-64-2", "76-64-1", "9004-70-1"])
def test_a_mistyped_cas_number_is_found_out(number):
    with pytest.raises(ValueError, match="check digit that does not fit"):
        ghs.checked_cas(number)


@pytest.mark.parametrize("number", ["", "67641", "67-64-1x", "6-64-1", "６７-64-1"])
def test_what_is_no_cas_number_is_refused(number):
    with pytest.raises(ValueError, match="must look like 67-64-1"):
        ghs.checked_cas(number)


@pytest.mark.parametrize(("typed", "kept"), [("1090", "1090"), ("UN 1090", "1090"), ("un1066", "1066")])
def test_a_un_number_has_four_digits(typed, kept):
    assert ghs.checked_un(typed) == kept


@pytest.mark.parametrize("typed", ["", "109", "10901", "NA1993", "0000", "１０９０"])
def test_what_is_no_un_number_is_refused(typed):
    with pytest.raises(ValueError, match="four digits"):
        ghs.checked_un(typed)


@pytest.mark.parametrize("value", [float("nan"), -300.0, 2000.0, "20", True])
def test_a_flash_point_that_is_none_is_refused(value):
    with pytest.raises(ValueError, match="flash_c must be"):
        ghs.flammable_liquid_category(value, 80.0)
