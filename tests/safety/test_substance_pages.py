"""The pages of substances, and the label of one beside what its supplier's sheet says."""

from html import unescape

import pytest
from django.urls import reverse

from shop.people.models import TemperatureUnit
from shop.safety import queries
from shop.safety.models import Substance
from shop.safety.rules.substances import WantedHazard, WantedLimit, WantedProperty, WantedStatement
from tests.safety.substance_makers import (
    SOLVENT,
    classify,
    limit,
    make_sheet,
    make_solvent,
    make_substance,
    measure,
    state,
)


def said(answer):
    return " ".join(unescape(answer.content.decode()).split())


def page(client, substance):
    answer = client.get(substance.get_absolute_url())
    assert answer.status_code == 200
    return said(answer)


def sent(client, name, substance, **typed):
    """Press a form of a substance as the page has it, with these boxes changed."""
    address = reverse(f"safety:{name}", args=[substance.slug])
    form = client.get(address).context["form"]
    boxes = {field.html_name: field.value() for field in form if field.value() not in (None, False)}
    told = {name: value for name, value in {**boxes, **typed}.items() if value is not None}
    return client.post(address, told | {"once": form.token})


# The label ------------------------------------------------------------------------------------------------------------


def label(substance):
    return queries.label_of(queries.substances_in_full().get(pk=substance.pk))


def test_without_a_sheet_the_label_is_what_the_rules_give(engineer):
    made = state(engineer, make_solvent(engineer), WantedStatement("P210", source="its sheet"))
    found = label(made)
    assert (found.signal, found.pictograms) == ("Danger", ("GHS02", "GHS07"))
    assert found.h[0].text == "Highly flammable liquid and vapour."
    assert [line.code for line in found.p] == ["P210"]
    assert (found.sheet, found.supplier_name, found.differences) == (None, "", ())


def test_where_the_sheet_says_otherwise_the_suppliers_stands_and_the_difference_is_told(engineer):
    made = make_solvent(engineer)
    make_sheet(engineer, made, says_signal="Warning", says_pictograms=["GHS02"], says_h=["H226", "EUH066"])
    found = label(made)
    assert (found.signal, found.pictograms) == ("Warning", ("GHS02",))
    assert [line.code for line in found.h] == ["H226"]
    assert [line.code for line in found.supplementary] == ["EUH066"]
    assert found.differences == (
        "Signal word: Warning on its sheet, Danger by the classes written down here.",
        "By the classes written down here, and not on its sheet: exclamation mark (GHS07).",
        "Its sheet says H226, which no class written down here does.",
        "The classes written down here come to H225, H319, H336, which its sheet does not say.",
    )
    assert (found.supplier_name, found.supplier_phone) == ("Peverelle Workshop Supply", "01632 960 112")


def test_a_sheet_that_agrees_leaves_no_difference_however_it_combines_codes(engineer):
    made = classify(
        engineer,
        make_substance(engineer),
        WantedHazard("acute-oral", "4", "H302", "its sheet"),
        WantedHazard("acute-inhaled", "4", "H332", "its sheet"),
    )
    make_sheet(engineer, made, says_signal="Warning", says_pictograms=["GHS07"], says_h=["H302+H332"])
    found = label(made)
    assert found.differences == ()
    assert [line.text for line in found.h] == ["Harmful if swallowed or if inhaled."]


def test_what_the_rules_leave_open_is_no_difference(engineer):
    """GHS04 beside GHS02 is optional, and H318 beside H314 may be left off: UN GHS 1.4.10.5.3."""
    made = classify(
        engineer,
        make_substance(engineer),
        WantedHazard("flammable-gas", "1A", "H220", "its sheet"),
        WantedHazard("gas-under-pressure", "Liquefied gas", "H280", "its sheet"),
        WantedHazard("skin", "1B", "H314", "its sheet"),
        WantedHazard("eyes", "1", "H318", "its sheet"),
    )
    for pictograms in (["GHS02", "GHS05"], ["GHS02", "GHS04", "GHS05"]):
        make_sheet(engineer, made, says_pictograms=pictograms, says_h=["H220", "H280", "H314"])
        assert label(made).differences == ()


def test_a_sheet_of_which_nothing_was_copied_says_nothing_otherwise(engineer):
    made = make_solvent(engineer)
    make_sheet(engineer, made, says_signal="", says_pictograms=[], says_h=[])
    found = label(made)
    assert not found.is_the_suppliers
    assert (found.signal, found.differences) == ("Danger", ())


def test_the_suppliers_precautions_stand_with_what_fills_them_here(engineer):
    made = state(
        engineer,
        make_solvent(engineer),
        WantedStatement("P370+P378", "powder", "", True),
        WantedStatement("P233", source="x"),
    )
    make_sheet(engineer, made, says_p=["P370+P378", "P235"])
    found = label(made)
    assert [line.text for line in found.p] == ["Keep cool.", "In case of fire: Use powder to extinguish."]
    assert not any(line.from_memory or line.source for line in found.p), "the sheet is their source"
    assert (found.left_out, found.differences) == (("P233",), ()), "suppliers choose: CLP, article 28"


def test_a_classification_nobody_looked_up_says_so(engineer):
    made = classify(engineer, make_substance(engineer), WantedHazard("aspiration", "1", "H304", "", True))
    assert label(made).unchecked


# The list -------------------------------------------------------------------------------------------------------------


def test_the_list_shows_each_label_in_words(engineer, visitor, client_of):
    make_solvent(engineer)
    classify(engineer, make_substance(engineer, "Dust"), why="Its maker decides.")
    text = said(client_of(visitor).get(reverse("safety:substances")))
    assert "Ether of Saltmere" in text
    assert "Danger" in text
    assert "catches fire" in text
    assert "Given no hazard class here: Its maker decides." in text
    assert "This replaces neither the supplier's safety data sheet" in text
    assert "Add a substance" not in text


def test_an_empty_list_says_what_to_begin_with(visitor, client_of):
    assert "No substance is written down yet" in said(client_of(visitor).get(reverse("safety:substances")))


def test_the_list_takes_as_many_queries_for_thirty_as_for_three(
    engineer, client_of, django_assert_max_num_queries, django_assert_num_queries
):
    client, address = client_of(engineer), reverse("safety:substances")
    made = [make_solvent(engineer, f"Solvent {n}") for n in range(3)]
    make_sheet(engineer, made[0])
    with django_assert_max_num_queries(12) as few:
        client.get(address)
    for n in range(3, 30):
        make_sheet(engineer, make_solvent(engineer, f"Solvent {n}"))
    with django_assert_num_queries(len(few.captured_queries)):
        client.get(address)


# One substance --------------------------------------------------------------------------------------------------------


def test_the_page_points_a_difference_out_and_says_which_stands(engineer, assistant, client_of):
    made = make_solvent(engineer)
    make_sheet(engineer, made, says_signal="Warning")
    text = page(client_of(assistant), made)
    assert "Signal word: Warning on its sheet, Danger by the classes written down here." in text
    assert "The supplier's stands." in text
    assert "Change its classes" not in text


def test_temperatures_stand_in_the_readers_unit_and_differing_sources_are_named(engineer, client_of):
    made = measure(
        engineer,
        make_substance(engineer),
        WantedProperty("autoignition", 465.0, source="NFPA 497"),
        WantedProperty("autoignition", 539.0, source="IEC 60079-20-1"),
        WantedProperty("uel", 12.8, source="NFPA 497"),
    )
    client = client_of(engineer)
    text = page(client, made)
    assert "465 °C" in text
    assert "539 °C" in text
    assert text.count('<span class="badge">sources differ</span>') == 1
    engineer.temperature_unit = TemperatureUnit.FAHRENHEIT
    engineer.save()
    text = page(client, made)
    assert "869 °F" in text
    assert "1002.2 °F" in text
    assert "12.8 % by volume" in text


def test_what_nobody_looked_up_is_marked_and_nothing_is_worked_out_from_it(engineer, client_of):
    made = make_solvent(engineer)
    flash = WantedProperty("flash", -20.0, condition="closed cup", source="said so", from_memory=True)
    boiling = WantedProperty("boiling", 56.0, source="a table")
    text = page(client_of(engineer), measure(engineer, made, flash, boiling))
    assert "not looked up" in text
    assert "it would be" not in text
    looked_up = WantedProperty("flash", -20.0, condition="closed cup", source="a table")
    text = page(client_of(engineer), measure(engineer, made, looked_up, boiling))
    assert "it would be a flammable liquid of category 2" in text


def test_where_two_flash_points_come_to_two_categories_none_is_given(engineer):
    made = measure(
        engineer,
        make_substance(engineer),
        WantedProperty("flash", 22.0, source="one"),
        WantedProperty("flash", 24.0, source="another"),
        WantedProperty("boiling", 90.0, source="a table"),
    )
    assert queries.flammable_category(made) is None


def test_figures_that_only_reading_parts_are_not_said_to_differ(engineer):
    made = measure(
        engineer,
        make_substance(engineer),
        WantedProperty("boiling", 56.08, source="one"),
        WantedProperty("boiling", 56.15, source="another"),
        WantedProperty("vapour-pressure", 4210.0, 4410.0, "20 °C", "several"),
        WantedProperty("vapour-pressure", 4400.0, None, "20 °C", "a card"),
        WantedProperty("vapour-pressure", 6000.0, None, "25 °C", "a card"),
    )
    assert not any(kind.differ for kind in queries.figures_of(made))


def test_a_limit_that_is_not_in_force_says_so(engineer, client_of):
    made = limit(
        engineer,
        make_substance(engineer),
        WantedLimit("OSHA PEL of 1989", "twa", 750.0, 1780.0, "1989, vacated", in_force=False, source="a ruling"),
    )
    assert "OSHA PEL of 1989 <span" in page(client_of(engineer), made)
    assert "not in force" in page(client_of(engineer), made)


def test_fire_advice_is_this_substances_own(engineer, client_of):
    solvent = make_substance(engineer, fire_use="Powder or carbon dioxide.", fire_source="its sheet")
    chip = make_substance(
        engineer, "Chip", fire_use="Water in plenty.", fire_never="Carbon dioxide, foam.", fire_source="a card"
    )
    text = page(client_of(engineer), chip)
    assert "Water in plenty." in text
    assert "Powder" not in text
    assert "Water in plenty" not in page(client_of(engineer), solvent)
    assert "Call the fire service." in page(client_of(engineer), make_substance(engineer, "Unknown"))


# The forms ------------------------------------------------------------------------------------------------------------


def test_adding_leads_to_its_page(engineer, client_of):
    client, address = client_of(engineer), reverse("safety:add-substance")
    form = client.get(address).context["form"]
    answer = client.post(address, {"once": form.token, "name": "Ether", "state": "liquid", "cas": "67-64-2"})
    assert answer.status_code == 422
    assert "check digit" in said(answer)
    answer = client.post(address, {"once": form.token, "name": "Ether", "state": "liquid", "cas": "67-64-1"})
    assert answer["Location"] == reverse("safety:substance", args=["ether"])


@pytest.mark.parametrize(
    "name",
    [
        *("change-substance", "classify-substance", "change-statements", "change-properties"),
        *("change-exposure-limits",),
    ],
)
def test_sending_a_form_back_as_it_was_changes_nothing(engineer, client_of, name):
    """To the last digit, in °F too."""
    engineer.temperature_unit = TemperatureUnit.FAHRENHEIT
    engineer.save()
    made = make_solvent(engineer, cas="67-64-1", groups=("flammable-liquid",), what_for="Wipes.")
    state(engineer, made, WantedStatement("P370+P378", "powder", "its sheet"))
    measure(
        engineer,
        made,
        WantedProperty("boiling", 56.08, None, "1 atm", "one"),
        WantedProperty("boiling", 56.15, None, "1 atm", "another"),
        WantedProperty("decomposition", 150.0, 190.0, "", "a sheet"),
        WantedProperty("flash", -20.0, None, "closed cup", "a sheet", True),
    )
    limit(engineer, made, WantedLimit("OSHA PEL", "twa", 1000.0, 2400.0, "Z-1", False, "a table", True))

    def kept():
        fresh = Substance.objects.get(pk=made.pk)
        rows = [fresh.hazards, fresh.statements, fresh.properties, fresh.limits]
        lines = [[{k: v for k, v in row.items() if k != "id"} for row in each.values()] for each in rows]
        own = Substance.objects.filter(pk=made.pk).values().get()
        return {k: v for k, v in own.items() if k != "version"}, lines

    before = kept()
    answer = sent(client_of(engineer), name, made)
    assert answer.status_code == 302
    assert kept() == before


def test_a_code_that_there_is_not_is_refused_in_its_row_and_what_was_typed_stays(engineer, client_of):
    made = make_substance(engineer)
    answer = sent(
        client_of(engineer), "change-statements", made, r0_code="P210", r0_source="x", r1_code="P999", r1_source="x"
    )
    assert answer.status_code == 422
    assert answer.context["form"].errors["r1_code"] == ["The code must be one of the GHS; there is no P999."]
    assert 'value="P999"' in said(answer)


def test_a_row_between_that_was_left_empty_does_not_shift_the_refusal(engineer, client_of):
    answer = sent(client_of(engineer), "change-statements", make_substance(engineer), r1_code="P233")
    assert list(answer.context["form"].errors) == ["r1_source"]


def test_more_lines_keep_what_was_typed_and_judge_nothing(engineer, client_of):
    made = make_substance(engineer)
    address = reverse("safety:change-properties", args=[made.slug])
    answer = client_of(engineer).post(address, {"rows": "2", "version": "1", "r0_value": "nonsense", "more": "1"})
    form = answer.context["form"]
    assert (answer.status_code, form.row_count, form.errors) == (200, 4, {})
    assert form["r0_value"].value() == "nonsense"


@pytest.mark.parametrize(
    ("typed", "box"),
    [
        ({"r0_value": "56"}, "r0_kind"),
        ({"r0_kind": "boiling", "r0_high": "56"}, "r0_value"),
        ({"r0_kind": "boiling", "r0_value": "warm"}, "r0_value"),
        ({"r0_kind": "lel", "r0_value": "2.5 ppm"}, "r0_value"),
        ({"r0_kind": "lel", "r0_value": "120"}, "r0_value"),
    ],
)
def test_a_figure_is_read_once_it_is_known_what_it_is_of(engineer, client_of, typed, box):
    answer = sent(client_of(engineer), "change-properties", make_substance(engineer), r0_source="a table", **typed)
    assert answer.status_code == 422
    assert box in answer.context["form"].errors


def test_a_typed_unit_is_understood(engineer, client_of):
    made = make_substance(engineer)
    sent(
        client_of(engineer),
        "change-properties",
        made,
        r0_kind="flash",
        r0_value="53.6 °F",
        r0_source="a card",
        r1_kind="lel",
        r1_value="2,5 %",
        r1_source="a card",
    )
    assert [round(one.value, 6) for one in made.properties.order_by("kind")] == [12.0, 2.5]


def test_a_stale_form_of_lines_shows_what_is_saved_now(engineer, client_of):
    made = make_substance(engineer)
    address = reverse("safety:classify-substance", args=[made.slug])
    client = client_of(engineer)
    form = client.get(address).context["form"]
    classify(engineer, made, *SOLVENT)
    answer = client.post(
        address,
        {"once": form.token, "version": "2", "rows": "2", "no_class_why": "Its maker decides."} | {"version": "1"},
    )
    assert answer.status_code == 422
    assert "H225 Flammable liquid, category 2" in said(answer)


def test_stopping_takes_it_off_the_list(engineer, client_of):
    made = make_solvent(engineer)
    client = client_of(engineer)
    address = reverse("safety:stop-substance", args=[made.slug])
    assert client.post(address, {"once": client.get(address).context["form"].token}).status_code == 302
    text = said(client.get(reverse("safety:substances")))
    assert "No longer kept here" in text
    assert "No longer kept here." in page(client, made)
