"""The substances that a new room begins with: valid by the program's own rules, sourced, never more than is known."""

import pytest

from shop.people.starter import load_starter
from shop.safety import queries
from shop.safety.actions.substances import CHIP
from shop.safety.models import ExposureLimit, Hazard, Property, PropertyKind, Statement, Substance
from shop.safety.rules import substances as rules
from tests.makers import make_room


@pytest.fixture(scope="module")
def loaded(db_of_file, django_db_blocker):
    with django_db_blocker.unblock():
        make_room()
        load_starter()


@pytest.fixture
def starter(loaded, db):
    return {one.slug: one for one in queries.substances_in_full()}


def test_each_of_the_trade_is_there(starter):
    assert set(starter) == {
        *("cut-chip", "lacquer-blanks", "acetone", "propan-2-ol", "nitrogen", "talc"),
        *("vacuum-pump-oil", "leadscrew-oil"),
    }
    assert all(one.is_starter for one in starter.values())


def test_each_stands_by_the_rules_that_a_form_is_held_to(starter):
    for one in starter.values():
        facts = rules.SubstanceFacts(
            **{name: getattr(one, name) for name in rules.SubstanceFacts.__dataclass_fields__ if name != "items"}
            | {"groups": tuple(one.groups)}
        )
        told = rules.checked(facts)
        assert (told.cas, told.un_number, list(told.groups)) == (one.cas, one.un_number, one.groups)
        for check, wanted, rows in (
            (rules.checked_hazards, rules.WantedHazard, one.hazards.all()),
            (rules.checked_statements, rules.WantedStatement, one.statements.all()),
            (rules.checked_properties, rules.WantedProperty, one.properties.all()),
            (rules.checked_limits, rules.WantedLimit, one.limits.all()),
        ):
            lines = [wanted(**{name: getattr(row, name) for name in wanted.__dataclass_fields__}) for row in rows]
            assert check(lines) == lines
        assert bool(one.hazards.all()) != bool(one.no_class_why)


def test_every_fact_names_its_source(starter):
    for model in (Hazard, Statement, Property, ExposureLimit):
        assert model.objects.exists()
        assert not model.objects.filter(source="").exists()


def test_cut_chip_has_neither_class_nor_un_number_and_says_who_decides(starter):
    chip = starter[CHIP]
    assert (chip.un_number, chip.cas, list(chip.hazards.all())) == ("", "", [])
    assert "Who made the lacquer decides, and who takes the waste away" in chip.no_class_why


@pytest.mark.parametrize("slug", ["cut-chip", "lacquer-blanks"])
def test_what_holds_nitrocellulose_is_put_out_by_water_alone(starter, slug):
    """International Chemical Safety Card 1560; NFPA 40, annex A."""
    assert starter[slug].fire_use == "Water in large amounts."
    never = starter[slug].fire_never
    assert never.startswith("Carbon dioxide, foam or smothering")


def test_advice_for_solvents_is_not_that_for_chip(starter):
    assert "carbon dioxide" in starter["acetone"].fire_use
    assert starter["propan-2-ol"].fire_use == "", "none was read: its sheet says"


def test_where_sources_differ_both_are_there(starter):
    acetone = {kind.name: kind for kind in queries.figures_of(starter["acetone"])}
    assert {one.value for one in acetone["Autoignition temperature"].rows} == {465.0, 539.0}
    assert {one.value for one in acetone["Upper explosive limit"].rows} >= {12.8, 14.3}
    assert acetone["Autoignition temperature"].differ
    assert acetone["Upper explosive limit"].differ


def test_what_nobody_looked_up_says_so(starter):
    told = ExposureLimit.objects.filter(substance__slug="propan-2-ol", body="ACGIH TLV", in_force=True)
    assert [one.from_memory for one in told] == [True, True]
    assert Property.objects.filter(from_memory=True, kind=PropertyKind.DENSITY).exists()


def test_limits_that_were_vacated_are_not_in_force(starter):
    assert not ExposureLimit.objects.filter(body="OSHA PEL of 1989", in_force=True).exists()
    assert ExposureLimit.objects.filter(body="OSHA PEL of 1989").count() == 4


def test_what_lies_on_the_shelf_is_linked(starter):
    assert {item.name for item in starter["lacquer-blanks"].items.all()} == {
        "14-inch blank",
        "12-inch blank",
        "10-inch blank",
    }


def test_loading_it_again_adds_nothing(starter):
    Substance.objects.filter(slug="talc").update(name="French chalk")
    assert load_starter() == 0
    assert Substance.objects.get(slug="talc").name == "French chalk"
