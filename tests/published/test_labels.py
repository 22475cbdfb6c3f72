"""Labels against the rules and tables of the GHS and CLP."""

import pytest

from shop.calc import ghs
from shop.calc.ghs import Classified
from shop.people.starter import load_starter
from shop.safety import queries
from shop.safety.models import Substance


def label(*lines):
    return ghs.label(Classified(*line) for line in lines)


# Precedence of pictograms: CLP, article 26(1); UN GHS 1.4.10.5.3.1 ----------------------------------------------------

ACUTE_2, ACUTE_4 = ("acute-oral", "2", "H300"), ("acute-inhaled", "4", "H332")
SKIN_1B, SKIN_2 = ("skin", "1B", "H314"), ("skin", "2", "H315")
EYES_1, EYES_2 = ("eyes", "1", "H318"), ("eyes", "2", "H319")
ALLERGY, ASTHMA = ("skin-sensitiser", "1", "H317"), ("respiratory-sensitiser", "1", "H334")
DROWSY = ("target-organ-once", "3", "H336")
CANCER = ("carcinogen", "2", "H351")
FLAMMABLE_GAS, LIQUEFIED = ("flammable-gas", "1A", "H220"), ("gas-under-pressure", "Liquefied gas", "H280")
EXPLOSIVE, FLAMMABLE = ("explosive", "Div 1.1", "H201"), ("flammable-liquid", "2", "H225")
OXIDISING = ("oxidising-solid", "2", "H272")


@pytest.mark.parametrize(
    ("lines", "shown", "optional"),
    [
        # (b) GHS06 applies: no GHS07
        ((ACUTE_2, ACUTE_4), ("GHS06",), ()),
        ((ACUTE_2, SKIN_2, DROWSY), ("GHS06",), ()),
        # (c) GHS05 applies: no GHS07 for skin or eye irritation, but for everything else
        ((SKIN_1B, EYES_2), ("GHS05",), ()),
        ((EYES_1, SKIN_2), ("GHS05",), ()),
        ((EYES_1, SKIN_2, DROWSY), ("GHS05", "GHS07"), ()),
        ((EYES_1, ALLERGY), ("GHS05", "GHS07"), ()),
        ((EYES_1, ACUTE_4), ("GHS05", "GHS07"), ()),
        # (d) GHS08 for respiratory sensitisation: no GHS07 for skin sensitisation, skin or eye irritation
        ((ASTHMA, ALLERGY), ("GHS08",), ()),
        ((ASTHMA, SKIN_2, EYES_2), ("GHS08",), ()),
        ((ASTHMA, DROWSY), ("GHS07", "GHS08"), ()),
        ((CANCER, ALLERGY), ("GHS07", "GHS08"), ()),
        # (a) GHS01 applies: GHS02 and GHS03 are optional, save where more than one is compulsory
        ((EXPLOSIVE, FLAMMABLE), ("GHS01",), ("GHS02",)),
        ((EXPLOSIVE, OXIDISING), ("GHS01",), ("GHS03",)),
        ((("organic-peroxide", "Type B", "H241"),), ("GHS01", "GHS02"), ()),
        # (e) GHS02 or GHS06 applies: GHS04 is optional
        ((FLAMMABLE_GAS, LIQUEFIED), ("GHS02",), ("GHS04",)),
        ((("acute-inhaled", "2", "H330"), LIQUEFIED), ("GHS06",), ("GHS04",)),
        ((("chemical-under-pressure", "1", "H282"),), ("GHS02", "GHS04"), ()),
        ((LIQUEFIED,), ("GHS04",), ()),
    ],
)
def test_precedence_of_pictograms(lines, shown, optional):
    found = label(*lines)
    assert (found.pictograms, found.optional) == (shown, optional)


def test_of_one_class_the_gravest_category_gives_the_pictogram():
    """CLP, article 26(2)."""
    assert label(("target-organ-once", "1", "H370"), DROWSY).pictograms == ("GHS08",)


def test_danger_drops_warning():
    """CLP, article 20(3); UN GHS 1.4.10.5.3.2."""
    assert label(FLAMMABLE, EYES_2).signal == "Danger"
    assert label(EYES_2, DROWSY).signal == "Warning"
    assert label(("aquatic-chronic", "2", "H411")).signal == "", "UN GHS, annex 1: no signal word"


@pytest.mark.parametrize(
    ("kept", "dropped"),
    [
        (("skin", "1", "H314"), ("eyes", "1", "H318")),
        (("aquatic-chronic", "1", "H410"), ("aquatic-acute", "1", "H400")),
        (("aquatic-chronic", "2", "H411"), ("aquatic-acute", "2", "H401")),
        (("aquatic-chronic", "3", "H412"), ("aquatic-acute", "3", "H402")),
    ],
)
def test_statements_that_may_be_left_off(kept, dropped):
    """UN GHS, revision 9, 1.4.10.5.3.3."""
    found = label(kept, dropped)
    assert found.may_drop == (dropped[2],)
    assert set(found.h_codes) == {kept[2], dropped[2]}
    assert label(dropped).may_drop == ()


# Pictograms by class and category: UN GHS, annex 1, summary -----------------------------------------------------------

_TYPES_B_TO_F = ("Type B", "Type C", "Type D", "Type E", "Type F")
CARRY = {
    "GHS01": {
        "explosive": ("Unstable", "Div 1.1", "Div 1.2", "Div 1.3", "Div 1.4"),
        **dict.fromkeys(("self-reactive", "organic-peroxide"), ("Type A", "Type B")),
    },
    "GHS02": {
        "flammable-gas": ("1A", "1A pyrophoric", "1A unstable A", "1A unstable B", "1B"),
        "flammable-liquid": ("1", "2", "3"),
        "water-reactive": ("1", "2", "3"),
        "desensitised-explosive": ("1", "2", "3", "4"),
        **dict.fromkeys(("aerosol", "flammable-solid", "self-heating", "chemical-under-pressure"), ("1", "2")),
        **dict.fromkeys(("self-reactive", "organic-peroxide"), _TYPES_B_TO_F),
        **dict.fromkeys(("pyrophoric-liquid", "pyrophoric-solid"), ("1",)),
    },
    "GHS03": {"oxidising-gas": ("1",), **dict.fromkeys(("oxidising-liquid", "oxidising-solid"), ("1", "2", "3"))},
    "GHS04": {
        "gas-under-pressure": ("Compressed gas", "Liquefied gas", "Dissolved gas", "Refrigerated liquefied gas"),
        "chemical-under-pressure": ("1", "2", "3"),
    },
    "GHS05": {"corrosive-to-metals": ("1",), "skin": ("1", "1A", "1B", "1C"), "eyes": ("1",)},
    "GHS06": dict.fromkeys(("acute-oral", "acute-skin", "acute-inhaled"), ("1", "2", "3")),
    "GHS07": {
        **dict.fromkeys(("acute-oral", "acute-skin", "acute-inhaled"), ("4",)),
        "skin": ("2",),
        "eyes": ("2", "2A"),
        "skin-sensitiser": ("1", "1A", "1B"),
        "target-organ-once": ("3",),
        "ozone": ("1",),
    },
    "GHS08": {
        "respiratory-sensitiser": ("1", "1A", "1B"),
        **dict.fromkeys(("mutagen", "carcinogen", "reproductive"), ("1", "1A", "1B", "2")),
        **dict.fromkeys(("target-organ-once", "target-organ-repeated", "aspiration"), ("1", "2")),
    },
    "GHS09": {"aquatic-acute": ("1",), "aquatic-chronic": ("1", "2")},
}


@pytest.mark.parametrize("code", CARRY)
def test_which_categories_carry_a_pictogram(code):
    found: dict[str, set[str]] = {}
    for one in ghs.CLASSES.values():
        for each in one.categories:
            if code in each.pictograms:
                found.setdefault(one.slug, set()).add(each.name)
    assert found == {slug: set(names) for slug, names in CARRY[code].items()}


def test_a_flammable_liquid_of_category_4_has_no_pictogram():
    """UN GHS, annex 1, table A1.6."""
    assert label(("flammable-liquid", "4", "H227")) == ghs.Label("Warning", (), (), ("H227",), ())


# Flammable liquids: UN GHS, table 2.6.1; 29 CFR 1910.1200, appendix B.6 -----------------------------------------------


@pytest.mark.parametrize(
    ("flash_c", "boiling_c", "category"),
    [
        (22.9, 35.0, "1"),
        (22.9, 35.1, "2"),
        (23.0, 35.0, "3"),
        (60.0, 150.0, "3"),
        (60.1, 150.0, "4"),
        (93.0, 200.0, "4"),
        (93.1, 200.0, ""),
        (-45.0, 34.6, "1"),
    ],
)
def test_category_of_a_flammable_liquid(flash_c, boiling_c, category):
    assert ghs.flammable_liquid_category(flash_c, boiling_c) == category


def test_the_limits_in_fahrenheit_that_osha_prints_are_the_same():
    """OSHA's text gives 73.4, 95, 140 and 199.4 °F."""
    for celsius, fahrenheit in ((23.0, 73.4), (35.0, 95.0), (60.0, 140.0), (93.0, 199.4)):
        assert celsius * 1.8 + 32 == pytest.approx(fahrenheit)


# Labels of what a cutting room keeps ----------------------------------------------------------------------------------


@pytest.fixture
def of(room_row):
    load_starter()
    return lambda slug: queries.label_of(queries.substances_in_full().get(slug=slug))


@pytest.mark.parametrize("slug", ["acetone", "propan-2-ol"])
def test_label_of_a_solvent(of, slug):
    """CLP, annex VI, 606-001-00-8 and 603-117-00-0: Flam. Liq. 2, Eye Irrit. 2, STOT SE 3; P codes by table 2.6.2."""
    found = of(slug)
    assert (found.signal, found.pictograms) == ("Danger", ("GHS02", "GHS07"))
    assert [line.code for line in found.h] == ["H225", "H319", "H336"]
    assert not found.unchecked
    table = ["P210", "P233", "P240", "P241", "P242", "P243", "P280", "P303+P361+P353", "P370+P378", "P403+P235", "P501"]
    looked_up = [line.code for line in found.p if not line.from_memory]
    assert looked_up == table
    assert [line.code for line in found.supplementary] == (["EUH066"] if slug == "acetone" else [])
    category, _, _ = queries.flammable_category(found.substance)
    assert category == "2"


def test_label_of_compressed_nitrogen(of):
    """CLP, annex I, tables 2.5.2 and 2.5.3."""
    found = of("nitrogen")
    assert (found.signal, found.pictograms) == ("Warning", ("GHS04",))
    assert [line.code for line in (*found.h, *found.p)] == ["H280", "P410+P403"]


@pytest.mark.parametrize(
    ("category", "code", "signal"),
    [("1", "H206", "Danger"), ("2", "H207", "Danger"), ("3", "H207", "Warning"), ("4", "H208", "Warning")],
)
def test_damped_nitrocellulose_is_a_desensitised_explosive(category, code, signal):
    """CLP, annex I, table 2.17.2."""
    found = label(("desensitised-explosive", category, code))
    assert (found.signal, found.pictograms) == (signal, ("GHS02",))


def test_the_sources_on_nitrocellulose_do_not_agree_and_so_none_is_taken(of):
    """Damped it is H206 to H208; dry, as film or chip, H228, or H201 or H203 if explosive: the supplier decides.

    The three readings come to different labels; the program gives cut chip and blanks none of them.
    """
    damped = label(("desensitised-explosive", "1", "H206"))
    dry = label(("flammable-solid", "2", "H228"))
    explosive = label(("explosive", "Div 1.3", "H203"))
    assert len({(one.signal, one.pictograms) for one in (damped, dry, explosive)}) == 3
    for slug in ("cut-chip", "lacquer-blanks"):
        found = of(slug)
        assert (found.signal, found.pictograms, found.h, found.p) == ("", (), (), ())
        assert found.substance.no_class_why
        assert found.substance.un_number == ""


def test_thin_oil_would_be_an_aspiration_hazard():
    """UN GHS, table 3.10.1: hydrocarbons of at most 20.5 mm²/s at 40 °C."""
    found = label(("aspiration", "1", "H304"))
    assert (found.signal, found.pictograms) == ("Danger", ("GHS08",))


def test_talc_has_no_class_and_says_what_changed(of):
    """IARC monograph 136 (2024): group 2A."""
    found = of("talc")
    assert found.pictograms == ()
    assert "group 2A" in found.substance.note


def test_advice_on_fire_is_never_merged(of):
    """ICSC 1560: no carbon dioxide, no foam on nitrocellulose. ICSC 0087: both will do on acetone."""
    chip, acetone = of("cut-chip").substance, of("acetone").substance
    assert "carbon dioxide" in acetone.fire_use.lower()
    assert "foam" in acetone.fire_use
    assert "Carbon dioxide, foam" in chip.fire_never
    assert not Substance.objects.filter(slug__in=("cut-chip", "lacquer-blanks"), fire_use__icontains="foam").exists()
