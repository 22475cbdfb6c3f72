"""Estimates: what the page tells is what the calculations say, in the reader's units, and nothing is kept."""

import pytest
from django.urls import reverse

from shop.calc import air, gas
from shop.people.queries import the_room
from shop.safety import in_short, queries, what_if
from shop.safety.models import LimitKind, Place
from shop.safety.what_if import Asked
from tests.room import makers as cylinders
from tests.safety.place_makers import keep, limit, make_place, substance

pytestmark = pytest.mark.django_db


def asked(**other):
    usual = {
        "room_m3": 50.0,
        "air_changes_h": 2.0,
        "water_l": 50.0,
        "gauge_bar": 200.0,
        "celsius": 20.0,
        "leak_l_min": 100.0,
        "solvent": "acetone",
        "wipe_ml": 5.0,
        "wipes": 8,
        "spill_ml": 250.0,
        "mixing": 1.0,
    }
    return Asked(**usual | other)


def said(answer):
    return " ".join(answer.content.decode().split())


# What is worked out ---------------------------------------------------------------------------------------------------


def test_a_release_is_told_by_three_formulas_the_most_cautious_first():
    """X-7 at 15 C is 9.622 m3 for one 50 l cylinder; here at 20 C a little less is in it."""
    found = what_if.release(50.0, 50.0, 200.0, 20.0, 20.0)
    assert found.gas_m3 == pytest.approx(
        gas.standard_volume_m3(gas.nitrogen_mass_kg(50, 200, 20), 20, gas.ATM_BAR), rel=1e-12
    )
    assert found.gas_m3 == pytest.approx(9.43, abs=0.01)
    assert [one.percent for one in found.by] == sorted(one.percent for one in found.by)
    assert found.worst.percent == pytest.approx(20.9 * (50 - found.gas_m3) / 50)
    assert found.worst.is_short
    for one in found.by:
        again = what_if.release(one.smallest_m3, 50.0, 200.0, 20.0, 20.0)
        assert min(abs(other.percent - 19.5) for other in again.by) < 1e-9


def test_a_leak_lasts_as_long_as_the_cylinder_does():
    held = 9.43
    found = what_if.leak(asked(), held)
    assert found.lasts_h == pytest.approx(held / 6)
    assert found.lowest == pytest.approx(gas.oxygen_extracted(50, 6, 100, held / 6))
    assert found.lowest < gas.oxygen_supplied(50, 6, 100, held / 6)
    assert found.supplied_end == pytest.approx(19.7170, abs=5e-5), "X-8"
    assert found.extracted_end == pytest.approx(19.6460, abs=5e-5), "X-8"
    assert found.most_extracted_l_min * 60 / 1000 == pytest.approx(6.699, abs=5e-4), "X-11"
    assert not found.is_short
    assert found.course[0] == (0, 20.9)
    assert found.course[-1][1] == pytest.approx(found.lowest)


def test_the_headline_is_by_the_more_cautious_form():
    """36 m3, 2 changes an hour, 100 l/min: with air drawn out below 19.5 % after 49 minutes, blown in after 57."""
    found = what_if.leak(asked(room_m3=36.0), 9.43)
    assert found.short_after_h * 60 == pytest.approx(48.9, abs=0.1)
    assert gas.hours_until_oxygen(19.5, 36, 6, 72) * 60 == pytest.approx(56.7, abs=0.1)
    assert found.lowest == pytest.approx(gas.oxygen_extracted(36, 6, 72, found.lasts_h))
    assert found.course[-1][1] == pytest.approx(found.lowest)
    at = next(percent for hour, percent in found.course if hour >= found.short_after_h)
    assert at <= 19.5


def test_without_fresh_air_it_only_falls():
    found = what_if.leak(asked(air_changes_h=0.0), 9.43)
    assert (found.supplied_end, found.extracted_end) == (None, None)
    assert gas.oxygen_supplied(50, 6, 0, found.short_after_h) == pytest.approx(19.5)
    assert found.short_after_h < found.leave_after_h < found.lasts_h
    assert found.most_supplied_l_min == found.most_extracted_l_min == 0


def test_a_leak_that_empties_the_cylinder_before_it_is_short_is_not_called_short():
    small = what_if.leak(asked(air_changes_h=0.0), 1.0)
    assert small.short_after_h is None
    assert small.lowest > 19.5


def test_a_fan_that_draws_less_than_leaks_in_clears_nothing_and_a_small_leak_is_drawn_for_a_week():
    weak = what_if.leak(asked(air_changes_h=0.1), 9.43)
    assert weak.extracted_end == 0
    closed = what_if.leak(asked(air_changes_h=0.0), 9.43)
    assert (weak.lowest, weak.short_after_h) == (closed.lowest, closed.short_after_h), "no fresh air comes in"
    slow = what_if.leak(asked(leak_l_min=0.1), 9.43)
    assert slow.lasts_h > 168
    assert slow.course[-1][0] == 168
    assert what_if.leak(asked(leak_l_min=0.0), 9.43) is None


def test_mixing_lets_only_a_share_of_the_fresh_air_count():
    poor, half = what_if.leak(asked(mixing=0.5), 9.43), what_if.leak(asked(air_changes_h=1.0), 9.43)
    assert poor == half
    wiped = what_if.vapour(asked(mixing=0.5), []), what_if.vapour(asked(air_changes_h=1.0), [])
    assert wiped[0].wipes == wiped[1].wipes


def test_vapour_against_the_limits_each_for_what_it_is_meant(engineer):
    eight, short = limit("acetone", ppm=250), limit("acetone", kind=LimitKind.STEL, ppm=500, body="ACGIH TLV")
    metric = limit("acetone", kind=LimitKind.IDLH, ppm=None, mg_m3=5938.7, body="NIOSH IDLH")
    limit("acetone", ppm=1, body="Of yesterday", in_force=False)
    found = what_if.vapour(asked(), queries.limits_of("acetone"))
    by = {one.limit: one for one in found.against}
    assert set(by) == {eight, short, metric}
    assert (by[eight].wiping, by[eight].spilt) == (found.wipes.shift_ppm, None)
    assert (by[short].wiping, by[short].spilt) == (found.wipes.peak_ppm, found.spill.ppm)
    assert by[metric].ppm == pytest.approx(2500, rel=1e-3), "molar volumes of 24.45 and 24.47"
    assert by[short].is_spilt_over
    assert not by[short].is_wiping_over
    assert found.spill.ppm == pytest.approx(air.spill(250, 50, air.SOLVENTS["acetone"]).ppm)
    assert found.tenth_ml == pytest.approx(382, abs=0.6), "the table of a tenth of the LEL"
    assert not found.is_spill_over_tenth
    assert what_if.vapour(asked(spill_ml=390.0), []).is_spill_over_tenth


def test_out_of_the_range_of_its_constants_no_vapour_pressure_is_told():
    cold = what_if.vapour(asked(solvent="propan-2-ol", celsius=5.0), [])
    assert (cold.pressure_pa, cold.full_percent, cold.pressure_source) == (None, None, "")
    warm = what_if.vapour(asked(solvent="propan-2-ol"), [])
    assert warm.pressure_pa == pytest.approx(4413.6, abs=0.1)
    assert warm.pressure_source.startswith("Poling")


def test_the_page_says_why_no_vapour_pressure_is_told(engineer, client_of):
    typed = {"volume_m3": "50", "celsius": "5 C", "solvent": "propan-2-ol"}
    text = said(client_of(engineer).get(reverse("safety:what-if"), typed))
    assert "not told: the equation for its vapour pressure holds from 8.2 °C to 100.4 °C, not at 5.0 °C." in text
    warm = said(client_of(engineer).get(reverse("safety:what-if"), typed | {"celsius": "20 C"}))
    assert "not told" not in warm
    assert "Right over the liquid" in warm


# The page -------------------------------------------------------------------------------------------------------------


def test_a_place_is_taken_with_its_volume_and_air(visitor, engineer, client_of):
    place = make_place(engineer, volume_m3=50.0, air_changes_h=2.0)
    limit("acetone", ppm=250, body="NIOSH REL", edition="Pocket Guide 2007", from_memory=True)
    page = client_of(visitor).get(reverse("safety:what-if"), {"place": place.pk, "leak_l_min": "100 l/min"})
    found = page.context["found"]
    assert (found.asked.room_m3, found.asked.air_m3_h) == (50, 100)
    text = said(page)
    for words in (
        "<b>17.0&nbsp;%</b> <span>oxygen left, by the most cautious formula",
        "Nitrogen gives no warning",
        "An oxygen monitor, the supplier's safety data and the local rules decide",
        "University of Oxford, safety policy S4/03, appendix 1",
        "Basic Concepts of Industrial Hygiene, p. 163",
        "29 CFR 1910.134(d)(2)(iii)",
        "NIOSH REL, 8 hours (TWA)",
        "Pocket Guide 2007; not read in its source",
    ):
        assert words in text, words
    assert text.count('role="img"') == 3


def test_nothing_is_shown_before_something_is_asked_and_nothing_is_ever_kept(engineer, client_of):
    client = client_of(engineer)
    fresh = client.get(reverse("safety:what-if"))
    assert "found" not in fresh.context
    assert 'role="img"' not in said(fresh)
    assert client.post(reverse("safety:what-if"), {}).status_code == 405
    before = list(Place.objects.values_list())
    assert client.get(reverse("safety:what-if"), {"volume_m3": "48"}).status_code == 200
    assert list(Place.objects.values_list()) == before


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"water_l": "50"}, "volume_m3"),
        ({"volume_m3": "0"}, "volume_m3"),
        ({"volume_m3": "48", "gauge_bar": "-3"}, "gauge_bar"),
        ({"volume_m3": "48", "gauge_bar": "500"}, "gauge_bar"),
        ({"volume_m3": "48", "water_l": "0"}, "water_l"),
        ({"volume_m3": "48", "celsius": "-200"}, "celsius"),
        ({"volume_m3": "48", "solvent": "water"}, "solvent"),
        ({"volume_m3": "48", "wipes": "0"}, "wipes"),
        ({"volume_m3": "48", "mixing": "1.5"}, "mixing"),
        ({"volume_m3": "48", "place": "999"}, "place"),
        ({"volume_m3": "much"}, "volume_m3"),
    ],
)
def test_figures_that_cannot_be_reckoned_with_are_refused_and_the_paper_leads_back(engineer, client_of, typed, field):
    client = client_of(engineer)
    page = client.get(reverse("safety:what-if"), typed)
    assert page.status_code == 422
    assert list(page.context["form"].errors) == [field]
    assert client.get(reverse("safety:what-if-pdf"), typed).url.startswith(reverse("safety:what-if") + "?")


@pytest.mark.parametrize("volume", ["0.05", "0.2", "48", "10000"])
@pytest.mark.parametrize("changes", ["0", "0.01", "100"])
def test_from_a_cupboard_to_a_hall_it_answers(engineer, client_of, volume, changes):
    typed = {"volume_m3": volume, "air_changes_h": changes, "spill_ml": "20000 ml", "leak_l_min": "2000"}
    assert client_of(engineer).get(reverse("safety:what-if"), typed).status_code == 200
    typed |= {"spill_ml": "0", "leak_l_min": "0", "gauge_bar": "0", "wipe_ml": "0"}
    assert client_of(engineer).get(reverse("safety:what-if"), typed).status_code == 200


def test_it_speaks_and_reads_the_readers_units(engineer, client_of):
    engineer.length_unit, engineer.liquid_unit, engineer.pressure_unit = "in", "gal", "psi"
    engineer.temperature_unit = "degF"
    engineer.save()
    typed = {"volume_m3": "1765", "gauge_bar": "2640", "celsius": "70", "leak_l_min": "10", "wipe_ml": "0.2"}
    page = client_of(engineer).get(reverse("safety:what-if"), typed | {"water_l": "49", "air_changes_h": "2"})
    found = page.context["found"].asked
    assert found.room_m3 == pytest.approx(49.98, abs=0.01)
    assert found.leak_l_min == pytest.approx(4.72, abs=0.01)
    assert found.wipe_ml == pytest.approx(5.91, abs=0.01)
    assert page.context["found"].release.kg == pytest.approx(9.866, abs=2e-3), "C-1"
    for words in ("ft³/h", "2640 psi", "70.0 °F"):
        assert words in said(page)


def test_an_example_sent_as_it_is_filled_in_is_the_one_an_empty_box_takes(engineer, client_of):
    engineer.length_unit, engineer.liquid_unit, engineer.pressure_unit = "in", "gal", "psi"
    engineer.temperature_unit = "degF"
    engineer.save()
    client, address = client_of(engineer), reverse("safety:what-if")
    form = client.get(address).context["form"]
    names = ("water_l", "gauge_bar", "celsius", "leak_l_min", "wipe_ml", "wipes", "spill_ml")
    filled = {name: form[name].value() for name in names}
    empty = client.get(address, {"volume_m3": "1000"}).context["found"].asked
    sent = client.get(address, {"volume_m3": "1000"} | filled).context["found"].asked
    for name in names:
        assert getattr(sent, name) == pytest.approx(getattr(empty, name), rel=0.01), name


def test_the_paper_says_the_same(engineer, client_of):
    place = make_place(engineer, volume_m3=50.0, air_changes_h=2.0)
    answer = client_of(engineer).get(reverse("safety:what-if-pdf"), {"place": place.pk})
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert client_of(engineer).get(reverse("safety:what-if-pdf")).url == reverse("safety:what-if")


# In short -------------------------------------------------------------------------------------------------------------


def shorts(place):
    layout = queries.layout()
    there = layout.places[place.pk]
    return in_short.of_place(there, layout.kept_within(there), the_room(), nitrogen_ml=layout.nitrogen_ml)


def test_a_place_tells_in_short_what_its_cylinders_and_solvents_could_do(engineer):
    room = make_place(engineer, volume_m3=50.0)
    shelf = make_place(engineer, "Shelf", within=room)
    keep(engineer, room, nitrogen=50_000, empties=("nitrogen",))
    keep(engineer, shelf, "blanks", acetone=2500, alcohol=300, spirit=500)
    nitrogen, acetone, alcohol = shorts(room)
    assert (nitrogen.figure, nitrogen.unit, nitrogen.is_grave) == ("16.9", "%", True)
    assert "50\u00a0l of water volume, taken as full at 200\u00a0bar" in nitrogen.words
    assert "a room of 143.6\u00a0m³ would keep that" in nitrogen.words, "X-7"
    assert (acetone.asks, acetone.figure, acetone.unit) == ("Acetone spilt, and all of it evaporated", "382", "ml")
    assert acetone.is_grave
    assert "2.5\u00a0l are kept here" in acetone.words
    assert (alcohol.figure, alcohol.is_grave) == ("317", False)
    assert "300\u00a0ml are kept here" in alcohol.words
    assert shorts(shelf) == [], "no volume, no estimate"


def test_cylinders_on_the_list_that_are_written_down_nowhere_are_reckoned_with(engineer, client_of):
    """100 l written down, 300 l on the list: the six of them let go, each as delivered."""
    room = make_place(engineer, volume_m3=50.0)
    keep(engineer, room, nitrogen=100_000)
    cylinders.connected_cylinder(engineer)
    for number in range(5):
        cylinders.add_cylinder(engineer, f"S-{number}")
    (nitrogen,) = shorts(room)
    gas_m3 = gas.standard_volume_m3(6 * gas.nitrogen_mass_kg(50, 200, 15), 20, gas.ATM_BAR)
    assert gas_m3 == pytest.approx(57.7, abs=0.1)
    assert nitrogen.figure == "0.0", "more gas than the room holds air"
    assert "300\u00a0l of water volume, taken as full as delivered" in nitrogen.words
    assert "100\u00a0l are written down as kept here; the list of cylinders has 6 cylinders" in nitrogen.words
    assert "300\u00a0l of water volume" in client_of(engineer).get(room.get_absolute_url()).content.decode()


def test_cylinders_written_down_elsewhere_are_not_taken_to_stand_here(engineer):
    room, yard = make_place(engineer, volume_m3=50.0), make_place(engineer, "Yard")
    keep(engineer, room, nitrogen=50_000)
    keep(engineer, yard, nitrogen=50_000)
    cylinders.connected_cylinder(engineer, fill_bar=150.0)
    cylinders.add_cylinder(engineer, "S-1", fill_bar=150.0)
    (nitrogen,) = shorts(room)
    gas_m3 = gas.standard_volume_m3(gas.nitrogen_mass_kg(50, 150, 15), 20, gas.ATM_BAR)
    assert nitrogen.figure == f"{20.9 * (50 - gas_m3) / 50:.1f}"
    assert "50\u00a0l of water volume, taken as full as delivered. Below" in nitrogen.words
    keep(engineer, room, acetone=100)
    assert [one.unit for one in shorts(room)] == ["ml"], "no nitrogen is kept in it"


def test_a_large_room_keeps_its_oxygen(engineer):
    room = make_place(engineer, "Hall", volume_m3=900.0)
    keep(engineer, room, nitrogen=50_000)
    (one,) = shorts(room)
    assert not one.is_grave
    assert "would keep" not in one.words
    assert in_short.solvent_of(substance("spirit")) is None


def test_a_cylinders_page_leads_on_with_its_figures(client_of, visitor):
    """Nothing is reckoned before a room is chosen: the figures stand in the boxes, and nothing is called wrong."""
    answer = client_of(visitor).get(
        reverse("safety:what-if") + "?from=cylinder&water_l=43.8&gauge_bar=151.5+bar&celsius=19.5+C"
    )
    words = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="43.8"' in words
    assert 'value="151.5 bar"' in words
    assert "Choose a place" not in words
