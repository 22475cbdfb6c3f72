"""What worries safety about substances."""

from uuid import uuid4

import pytest

from shop import clock
from shop.concern import Grade
from shop.safety import actions
from shop.safety.concerns import concerns
from shop.safety.rules.substances import WantedHazard
from tests.safety.substance_makers import SOLVENT, classify, make_sheet, make_solvent, make_substance


def worries():
    return {
        one.key: one for one in concerns(clock.now()) if one.key.startswith(("safety:unclassed", "safety:otherwise"))
    }


def test_one_without_class_and_without_reason_is_a_note(engineer):
    made = make_substance(engineer)
    found = worries()[f"safety:unclassed:{made.pk}"]
    assert found.grade == Grade.NOTE
    assert found.headline == "Ether of Saltmere is not classed"
    assert found.link == "/hazards/substances/ether-of-saltmere/classify/"
    classify(engineer, made, why="Its maker decides.")
    assert worries() == {}


def test_a_sheet_that_says_otherwise_is_a_note_until_it_is_put_right(engineer):
    made = make_solvent(engineer)
    make_sheet(engineer, made, says_signal="Warning", says_pictograms=["GHS02"], says_h=["H226", "EUH066"])
    found = worries()[f"safety:otherwise:{made.pk}"]
    assert found.grade == Grade.NOTE
    assert "Signal word: Warning on its sheet, Danger by the classes written down here." in found.reason
    assert "The supplier's stands" in found.what_to_do.replace("the supplier's", "The supplier's")
    classify(engineer, made, WantedHazard("flammable-liquid", "3", "H226", "its sheet"))
    assert worries() == {}


def test_only_the_sheet_that_counts_is_held_against_it(engineer):
    made = make_solvent(engineer)
    make_sheet(engineer, made, "2019-01-01", says_signal="Warning")
    assert worries()
    make_sheet(engineer, made, "2024-01-01", language="de")
    assert worries() == {}


@pytest.mark.parametrize("says", [{}, {"says_signal": "", "says_pictograms": [], "says_h": []}])
def test_a_sheet_that_agrees_or_says_nothing_worries_nobody(engineer, says):
    make_sheet(engineer, make_solvent(engineer), **says)
    assert worries() == {}


def test_what_is_classed_by_the_supplier_alone_is_told(engineer):
    made = classify(engineer, make_substance(engineer), why="Its maker decides.")
    make_sheet(engineer, made)
    assert f"safety:otherwise:{made.pk}" in worries()


def test_what_is_no_longer_kept_worries_nobody(engineer):
    unclassed, otherwise = make_substance(engineer, "One"), make_solvent(engineer, "Two")
    make_sheet(engineer, otherwise, says_signal="Warning")
    assert len(worries()) == 2
    for one in (unclassed, otherwise):
        actions.stop_substance(by=engineer, once=uuid4(), substance=one)
    assert worries() == {}
    assert len(SOLVENT) == otherwise.hazards.count()
