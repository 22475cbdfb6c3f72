"""What pages and refusals of the room say to who reads psi, °F, gallons and inches."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.people.models import Person
from shop.refusal import Doubtful, Refused
from shop.room.models import Cylinder, ReadingKind
from shop.room.readings import impossible
from tests.room import makers

pytestmark = pytest.mark.django_db


@pytest.fixture
def imperial(engineer: Person) -> Person:
    units = {"pressure_unit": "psi", "temperature_unit": "degF", "liquid_unit": "gal", "length_unit": "in"}
    Person.objects.filter(pk=engineer.pk).update(**units)
    return Person.objects.get(pk=engineer.pk)


def test_a_cylinder_is_taken_in_by_its_gallons(imperial: Person, client_of: Callable) -> None:
    page = reverse("room:add-cylinder")
    typed = {"gas": "nitrogen", "mark": "N-9", "service_bar": "2900", "fill_bar": "2900", "fill_c": "70"}
    done = client_of(imperial).post(page, {**typed, "once": uuid4(), "water_volume_l": "11.6 gal"})
    assert done.status_code == 302
    added = Cylinder.objects.get(mark="N-9")
    assert added.water_volume_l == pytest.approx(43.911, abs=1e-3)
    for address in (added.get_absolute_url(), reverse("room:cylinders")):
        assert "43.9\u00a0l (11.6\u00a0US gal)" in client_of(imperial).get(address).content.decode()


def test_the_estimate_takes_gallons_and_tells_both(imperial: Person, client_of: Callable) -> None:
    seen = client_of(imperial).get(reverse("safety:what-if"), {"volume_m3": "1000", "water_l": "11.6 gal"})
    assert "43.9\u00a0l (11.6\u00a0US gal) of water volume" in seen.content.decode()


def test_an_unlikely_size_is_asked_about_in_both(imperial: Person) -> None:
    with pytest.raises(Doubtful) as asked:
        makers.add_cylinder(imperial, "N-9", water_volume_l=120.0)
    sentence = asked.value.doubts[0].sentence
    assert "120\u00a0l (31.7\u00a0US gal)" in sentence
    assert "10\u00a0l (2.6\u00a0US gal) to 50\u00a0l (13.2\u00a0US gal)" in sentence


def test_the_cylinders_page_speaks_the_readers_units(
    imperial: Person, assistant: Person, client_of: Callable, at: Callable
) -> None:
    with at("2025-03-03 08:00"):
        cylinder = makers.connected_cylinder(assistant)
        makers.take_anyway(assistant, nitrogen_bar=190, room_c=20)
        for address in (cylinder.get_absolute_url(), reverse("room:cylinders"), reverse("room:room")):
            seen = client_of(imperial).get(address).content.decode()
            assert "ft³ at 59\u00a0°F and 14.5\u00a0psi absolute" in seen
            for unit in ("1\u00a0bar", "1 bar", "°C", "m³"):
                assert unit not in seen
        page = client_of(imperial).get(cylinder.get_absolute_url()).content.decode()
        assert "some 15\u00a0psi for each 1.8\u00a0°F" in page
        assert "off by 15\u00a0psi and 1.8\u00a0°F" in page


def test_suction_with_a_minus_is_told_how_it_is_written(engineer: Person, imperial: Person) -> None:
    sentence = impossible(ReadingKind.CHIP_KPA, -30.0, engineer)
    assert sentence.startswith("It cannot be below 0.0\u00a0kPa.")
    assert "without the minus: 30.0\u00a0kPa" in sentence
    assert "minus" not in impossible(ReadingKind.CHIP_KPA, -3000.0, engineer)
    with pytest.raises(Refused, match="without the minus"):
        makers.take(engineer, chip_kpa=-30)


def test_a_share_of_one_is_asked_about_as_per_cent(engineer: Person) -> None:
    with pytest.raises(Doubtful) as asked:
        makers.take(engineer, room_rh=0.45)
    assert "Did you mean 45\u00a0%, written as a share of 1?" in asked.value.doubts[0].sentence
    with pytest.raises(Doubtful) as asked:
        makers.take(engineer, room_rh=1.0)  # as a share it would be 100 %, which is no likelier
    assert "looks wrong" in asked.value.doubts[0].sentence
    assert "share" not in asked.value.doubts[0].sentence
