"""The physical data of the starter substances against the chemicals library, which holds the tables they are from.

chemicals: NFPA 497 (2008), IEC 60079-20-1 (2010), the CRC Handbook and the NIST WebBook, each by its own method.
"""

import chemicals
import pytest

from shop.people.starter import load_starter
from shop.safety.models import Property, PropertyKind

IEC, NFPA = "IEC 60079-20-1 (2010)", "NFPA 497 (2008)"
ACETONE, PROPANOL, NITROGEN = "67-64-1", "67-63-0", "7727-37-9"


@pytest.fixture
def figures(room_row):
    """The figures of a kind that a source gives, by CAS number and part of the source's name."""
    load_starter()

    def found(cas, kind, source):
        rows = Property.objects.filter(substance__cas=cas, kind=kind, source__contains=source, from_memory=False)
        return [one.value for one in rows]

    return found


@pytest.mark.parametrize("cas", [ACETONE, PROPANOL])
@pytest.mark.parametrize(("method", "source"), [(IEC, "IEC 60079-20-1:2010"), (NFPA, "NFPA 497:2008")])
def test_flash_autoignition_and_explosive_limits(figures, cas, method, source):
    for kind, published in (
        (PropertyKind.FLASH, chemicals.T_flash(cas, method=method) - 273.15),
        (PropertyKind.AUTOIGNITION, chemicals.T_autoignition(cas, method=method) - 273.15),
        (PropertyKind.LEL, 100 * chemicals.LFL(CASRN=cas, method=method)),
        (PropertyKind.UEL, 100 * chemicals.UFL(CASRN=cas, method=method)),
    ):
        assert figures(cas, kind, source) == [pytest.approx(published, abs=0.01)], kind


def test_the_two_tables_do_not_agree_on_acetone():
    """465 against 539 °C, 12.8 against 14.3 %."""
    assert chemicals.T_autoignition(ACETONE, method=IEC) - chemicals.T_autoignition(
        ACETONE, method=NFPA
    ) == pytest.approx(74)
    assert chemicals.UFL(CASRN=ACETONE, method=IEC) - chemicals.UFL(CASRN=ACETONE, method=NFPA) == pytest.approx(0.015)


@pytest.mark.parametrize("cas", [ACETONE, PROPANOL])
@pytest.mark.parametrize(("method", "source"), [("CRC_ORG", "CRC Handbook"), ("WEBBOOK", "NIST Chemistry WebBook")])
def test_boiling_points(figures, cas, method, source):
    assert figures(cas, PropertyKind.BOILING, source) == [
        pytest.approx(chemicals.Tb(cas, method=method) - 273.15, abs=0.01)
    ]


@pytest.mark.parametrize("cas", [ACETONE, PROPANOL, NITROGEN])
def test_molar_mass_and_vapour_density(figures, cas):
    """28.96 g/mol is the mean molar mass of air."""
    (mass,) = figures(cas, PropertyKind.MOLAR_MASS, "chemicals")
    assert mass == pytest.approx(chemicals.MW(cas), abs=0.001)
    (density,) = figures(cas, PropertyKind.VAPOUR_DENSITY, "28.96")
    assert density == pytest.approx(chemicals.MW(cas) / 28.96, abs=0.001)


def test_vapour_pressure_and_density_of_acetone(figures):
    """CoolProp's reference equation of state."""
    from CoolProp.CoolProp import PropsSI

    for kind, output, conditions in (
        (PropertyKind.VAPOUR_PRESSURE, "P", {"T": None, "Q": 0}),
        (PropertyKind.DENSITY, "D", {"T": None, "P": 101_325.0}),
    ):
        rows = Property.objects.filter(substance__cas=ACETONE, kind=kind, source__contains="CoolProp")
        assert {one.condition for one in rows} == {"20 °C", "25 °C"}
        for one in rows:
            kelvin = float(one.condition.split()[0]) + 273.15
            (first, _), (second, given) = conditions.items()
            assert one.value == pytest.approx(PropsSI(output, first, kelvin, second, given, "Acetone"), rel=1e-3)


def test_density_of_nitrogen(figures):
    from CoolProp.CoolProp import PropsSI

    (density,) = figures(NITROGEN, PropertyKind.DENSITY, "equation of state")
    assert density == pytest.approx(PropsSI("D", "T", 293.15, "P", 101_325.0, "Nitrogen"), rel=1e-3)


@pytest.mark.parametrize(("cas", "fahrenheit", "kind"), [(PROPANOL, 53.0, "flash"), (PROPANOL, 181.0, "boiling")])
def test_the_pocket_guides_figures_are_its_fahrenheit(figures, cas, fahrenheit, kind):
    """NIOSH Pocket Guide 0359: flash 53 °F, boiling 181 °F."""
    assert figures(cas, kind, "NIOSH Pocket Guide") == [pytest.approx((fahrenheit - 32) / 1.8, abs=0.06)]


def test_every_limit_of_the_two_sources_read_stands_as_printed(room_row):
    """OSHA Chemical Sampling Information (2008) for acetone; NIOSH's IDLH documentation (May 1994) for propan-2-ol."""
    load_starter()
    from shop.safety.models import ExposureLimit

    printed = {
        ACETONE: {
            ("OSHA PEL", "twa", 1000.0, 2400.0),
            ("NIOSH REL", "twa", 250.0, 590.0),
            ("NIOSH", "idlh", 2500.0, None),
            ("ACGIH TLV", "twa", 500.0, 1187.0),
            ("ACGIH TLV", "stel", 750.0, 1780.0),
        },
        PROPANOL: {
            ("OSHA PEL", "twa", 400.0, 980.0),
            ("NIOSH REL", "twa", 400.0, 980.0),
            ("NIOSH REL", "stel", 500.0, 1225.0),
            ("NIOSH", "idlh", 2000.0, None),
            ("ACGIH TLV", "twa", 400.0, 983.0),
            ("ACGIH TLV", "stel", 500.0, 1230.0),
            ("OSHA PEL of 1989", "twa", 400.0, 980.0),
            ("OSHA PEL of 1989", "stel", 500.0, 1225.0),
        },
    }
    for cas, limits in printed.items():
        kept = set(ExposureLimit.objects.filter(substance__cas=cas).values_list("body", "kind", "ppm", "mg_m3"))
        assert limits <= kept
