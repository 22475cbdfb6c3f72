"""Writing down substances and what is known of them."""

from dataclasses import replace
from uuid import uuid4

import pytest

from shop.refusal import Changed, NotAllowed, Refused
from shop.safety import actions
from shop.safety.actions.substances import CHIP
from shop.safety.models import Substance
from shop.safety.rules.substances import MOST_LINES, WantedHazard, WantedLimit, WantedProperty, WantedStatement
from tests.safety.substance_makers import (
    EYES,
    FLAMMABLE,
    SOLVENT,
    classify,
    facts,
    limit,
    make_solvent,
    make_substance,
    measure,
    press,
    state,
)
from tests.stock.makers import make_supplier


def change(by, substance, **other):
    return press(actions.change_substance, by, substance, facts=facts(**{"name": substance.name} | other))


LINES = {
    actions.classify_substance: {"lines": [FLAMMABLE], "no_class_why": ""},
    actions.change_statements: {"lines": [WantedStatement("P210", source="its sheet")]},
    actions.change_properties: {"lines": [WantedProperty("flash", -20.0, source="its sheet")]},
    actions.change_exposure_limits: {"lines": [WantedLimit("OSHA PEL", "twa", 1000.0, None, "2008", source="a table")]},
}


# What it is -----------------------------------------------------------------------------------------------------------


def test_it_keeps_all_it_was_told(engineer):
    supplier = make_supplier(engineer)
    made = make_substance(
        engineer,
        "  Ether  of Saltmere ",
        other_names="ether",
        what_for="Wipes.",
        cas="67-64-1",
        un_number="UN 1090",
        un_name="Acetone",
        supplier=supplier,
        groups=("oxidiser", "flammable-liquid", "oxidiser"),
        fire_use="Powder.",
        fire_never="A jet of water.",
        fire_source="its sheet, section 5",
        note="Smells.",
    )
    kept = Substance.objects.get(pk=made.pk)
    assert (kept.name, kept.slug, kept.cas, kept.un_number) == (
        "Ether of Saltmere",
        "ether-of-saltmere",
        "67-64-1",
        "1090",
    )
    assert (kept.groups, kept.supplier) == (["flammable-liquid", "oxidiser"], supplier)
    assert (kept.fire_use, kept.fire_never, kept.fire_source) == ("Powder.", "A jet of water.", "its sheet, section 5")
    assert not kept.is_starter


def test_addresses_are_told_apart(engineer):
    slugs = [make_substance(engineer, name).slug for name in ("Öl", "Ol!", "油")]
    assert slugs == ["ol", "ol-2", "substance"]


@pytest.mark.parametrize(
    ("other", "field", "sentence"),
    [
        ({"name": " "}, "name", "Write something here."),
        ({"cas": "67-64-2"}, "cas", "check digit that does not fit"),
        ({"cas": "acetone"}, "cas", "must look like 67-64-1"),
        ({"un_number": "109"}, "un_number", "four digits"),
        ({"fire_use": "Powder."}, "fire_source", "where the advice on fire is from"),
        ({"groups": ("slippery",)}, "groups", "not on the list"),
        ({"note": "x" * 501}, "note", "Keep it to 500"),
    ],
)
def test_what_will_not_do_is_refused_at_its_box(engineer, other, field, sentence):
    with pytest.raises(Refused, match=sentence) as no:
        make_substance(engineer, **other)
    assert no.value.field == field
    assert not Substance.objects.exists()


def test_a_name_is_taken_once_however_it_is_written(engineer):
    make_substance(engineer)
    with pytest.raises(Refused, match="of that name already") as no:
        make_substance(engineer, "ETHER OF SALTMERE")
    assert no.value.field == "name"


def test_changing_keeps_its_address_and_makes_it_the_shops_own(engineer):
    made = make_substance(engineer)
    Substance.objects.filter(pk=made.pk).update(is_starter=True)
    changed = change(engineer, made, name="Saltmere ether", cas="67-63-0")
    assert (changed.slug, changed.name, changed.cas, changed.is_starter) == (
        "ether-of-saltmere",
        "Saltmere ether",
        "67-63-0",
        False,
    )


def test_a_stale_form_is_told_so(engineer):
    made = make_substance(engineer)
    change(engineer, made, note="One.")
    for act, typed in [(actions.change_substance, {"facts": facts(note="Two.")}), *LINES.items()]:
        with pytest.raises(Changed):
            press(act, engineer, made, version=1, **typed)
    assert Substance.objects.get(pk=made.pk).note == "One."


# Its classes ----------------------------------------------------------------------------------------------------------


def test_classes_take_the_place_of_those_before(engineer):
    made = make_solvent(engineer)
    classify(engineer, made, FLAMMABLE)
    assert [(one.h_code, one.category) for one in made.hazards.all()] == [("H225", "2")]


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (WantedHazard("flammable-liquid", "2", "H999", "its sheet"), "must be H225, not 'H999'"),
        (WantedHazard("flammable-liquid", "7", "H225", "its sheet"), "must be one of 1, 2, 3, 4"),
        (WantedHazard("slippery", "1", "H225", "its sheet"), "must be a class of the GHS"),
        (replace(FLAMMABLE, source=""), "Say where it is from"),
    ],
)
def test_a_line_that_the_ghs_has_not_is_refused_in_its_row(engineer, line, sentence):
    made = make_substance(engineer)
    with pytest.raises(Refused, match=sentence) as no:
        classify(engineer, made, EYES, line)
    assert no.value.field.startswith("lines.1.")
    assert not made.hazards.exists()


def test_a_class_stands_once(engineer):
    with pytest.raises(Refused, match="in another line already"):
        classify(engineer, make_substance(engineer), FLAMMABLE, FLAMMABLE)


def test_without_a_source_it_has_to_say_that_nobody_looked_it_up(engineer):
    made = classify(engineer, make_substance(engineer), replace(FLAMMABLE, source="", from_memory=True))
    assert made.hazards.get().from_memory


def test_either_it_is_classed_or_it_says_why_not(engineer):
    made = make_substance(engineer)
    for lines, why in (((), ""), ((FLAMMABLE,), "Nobody knows.")):
        with pytest.raises(Refused) as no:
            classify(engineer, made, *lines, why=why)
        assert no.value.field == "no_class_why"
    assert classify(engineer, made, why="Its maker decides.").no_class_why == "Its maker decides."


def test_what_is_given_no_class_takes_no_un_number(engineer):
    made = make_substance(engineer, un_number="1090")
    with pytest.raises(Refused, match="has a UN number"):
        classify(engineer, made, why="Its maker decides.")
    change(engineer, made)
    classify(engineer, made, why="Its maker decides.")
    with pytest.raises(Refused, match="takes no UN number") as no:
        change(engineer, made, un_number="1090")
    assert no.value.field == "un_number"


def test_cut_chip_is_given_neither_class_nor_un_number(engineer):
    """No source that was read settles either; the maker of the lacquer and whoever takes the waste decide."""
    chip = Substance.objects.create(name="Cut chip", slug=CHIP, form="solid", no_class_why="Its maker decides.")
    line = WantedHazard("flammable-solid", "1", "H228", "a guess")
    for lines, why in (((line,), ""), ((), "")):
        with pytest.raises(Refused, match="neither a hazard class nor a UN number"):
            classify(engineer, chip, *lines, why=why)
    with pytest.raises(Refused, match="neither a hazard class nor a UN number"):
        change(engineer, chip, un_number="2557")


# Statements, figures, limits ------------------------------------------------------------------------------------------


def test_statements_are_kept_in_one_spelling_with_what_fills_them(engineer):
    made = state(
        engineer,
        make_substance(engineer),
        WantedStatement("p370 + P378", "powder", "its sheet"),
        WantedStatement("EUH 066", source="its sheet"),
    )
    assert [(one.code, one.fill) for one in made.statements.all()] == [("EUH066", ""), ("P370+P378", "powder")]


@pytest.mark.parametrize(
    ("line", "box", "sentence"),
    [
        (WantedStatement("P999", source="its sheet"), "code", "there is no P999"),
        (WantedStatement("Keep cool", source="its sheet"), "code", "must look like"),
        (WantedStatement("H225", source="its sheet"), "code", "with the classification"),
        (WantedStatement("P233", "always", "its sheet"), "fill", "leaves nothing open"),
        (WantedStatement("P233"), "source", "Say where it is from"),
    ],
)
def test_a_statement_that_will_not_do_is_refused_in_its_row(engineer, line, box, sentence):
    with pytest.raises(Refused, match=sentence) as no:
        state(engineer, make_substance(engineer), line)
    assert no.value.field == f"lines.0.{box}"


def test_a_statement_stands_once_however_it_is_spelled(engineer):
    lines = [WantedStatement(code, source="its sheet") for code in ("P403+P235", "p403 + p235")]
    with pytest.raises(Refused, match="in another line already"):
        state(engineer, make_substance(engineer), *lines)


def test_figures_that_differ_stand_side_by_side(engineer):
    made = measure(
        engineer,
        make_substance(engineer),
        WantedProperty("autoignition", 465.0, source="one table"),
        WantedProperty("autoignition", 539.0, source="another"),
        WantedProperty("decomposition", 150.0, 190.0, "sound material", "a sheet"),
    )
    assert [one.value for one in made.properties.filter(kind="autoignition")] == [465.0, 539.0]
    assert made.properties.get(kind="decomposition").high == 190.0


@pytest.mark.parametrize(
    ("line", "box"),
    [
        (WantedProperty("colour", 1.0, source="a table"), "kind"),
        (WantedProperty("flash", -300.0, source="a table"), "value"),
        (WantedProperty("lel", 2.5, 101.0, source="a table"), "high"),
        (WantedProperty("lel", 2.5, 2.0, source="a table"), "high"),
        (WantedProperty("lel", 2.5, from_memory=True), "source"),
    ],
)
def test_a_figure_that_will_not_do_is_refused_in_its_row(engineer, line, box):
    with pytest.raises(Refused) as no:
        measure(engineer, make_substance(engineer), line)
    assert no.value.field == f"lines.0.{box}"


@pytest.mark.parametrize(
    ("other", "box"),
    [
        ({"kind": "lifetime"}, "kind"),
        ({"ppm": None}, "ppm"),
        ({"ppm": 0.0}, "ppm"),
        ({"mg_m3": 2_000_000.0}, "mg_m3"),
        ({"body": ""}, "body"),
        ({"edition": " "}, "edition"),
        ({"source": ""}, "source"),
    ],
)
def test_a_limit_that_will_not_do_is_refused_in_its_row(engineer, other, box):
    line = replace(WantedLimit("OSHA PEL", "twa", 1000.0, None, "2008", source="a table"), **other)
    with pytest.raises(Refused) as no:
        limit(engineer, make_substance(engineer), line)
    assert no.value.field == f"lines.0.{box}"


def test_ppm_and_mg_stand_as_printed_and_vacated_limits_stay(engineer):
    """Each is rounded in the rule: 1000 ppm of acetone are 2375 mg/m³, and table Z-1 prints 2400."""
    made = limit(
        engineer,
        make_substance(engineer),
        WantedLimit("OSHA PEL", "twa", 1000.0, 2400.0, "table Z-1", source="29 CFR 1910.1000"),
        WantedLimit("OSHA PEL of 1989", "twa", 750.0, 1780.0, "1989", in_force=False, source="a ruling"),
    )
    assert [(one.ppm, one.mg_m3, one.in_force) for one in made.limits.all()] == [
        (1000.0, 2400.0, True),
        (750.0, 1780.0, False),
    ]


@pytest.mark.parametrize("act", LINES)
def test_there_is_an_end_to_lines(engineer, act):
    typed = LINES[act] | {"lines": LINES[act]["lines"] * (MOST_LINES + 1)}
    with pytest.raises(Refused, match=f"Keep it to {MOST_LINES} lines"):
        press(act, engineer, make_substance(engineer), **typed)


# Keeping it no longer -------------------------------------------------------------------------------------------------


def test_stopping_and_taking_it_up_again(engineer):
    made = make_solvent(engineer)
    stopped = actions.stop_substance(by=engineer, once=uuid4(), substance=made)
    assert not stopped.is_active
    with pytest.raises(Changed):
        actions.stop_substance(by=engineer, once=uuid4(), substance=made)
    assert actions.resume_substance(by=engineer, once=uuid4(), substance=made).is_active
    with pytest.raises(Changed):
        actions.resume_substance(by=engineer, once=uuid4(), substance=made)
    assert [one.h_code for one in made.hazards.all()] == [one.h_code for one in SOLVENT]


# Who, and how often ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["assistant", "visitor"])
def test_engineers_alone_write(engineer, who, request):
    other, made = request.getfixturevalue(who), make_substance(engineer)
    with pytest.raises(NotAllowed):
        make_substance(other, "Another")
    for act, typed in [(actions.change_substance, {"facts": facts(note="Mine.")}), *LINES.items()]:
        with pytest.raises(NotAllowed):
            press(act, other, made, **typed)
    for act in (actions.stop_substance, actions.resume_substance):
        with pytest.raises(NotAllowed):
            act(by=other, once=uuid4(), substance=made)
    assert Substance.objects.get().version == 1


def test_a_press_that_is_repeated_is_one_record(engineer):
    token = uuid4()
    first, second = (actions.add_substance(by=engineer, once=token, facts=facts()) for _ in range(2))
    assert first == second
    made, token = Substance.objects.get(), uuid4()
    for _ in range(2):
        actions.classify_substance(
            by=engineer, once=token, substance=made, version=1, lines=list(SOLVENT), no_class_why=""
        )
    assert (made.hazards.count(), Substance.objects.get().version) == (3, 2)
