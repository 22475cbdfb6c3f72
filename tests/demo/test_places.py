"""The demo room's places: what they show of standing together."""

from random import Random

import pytest

from shop.demo.hands import Hands
from shop.demo.safety.places import BENCH, ROOM, SPOTS, STRAY, misplace, write_down_places
from shop.safety import queries
from shop.safety.models import Form, Hazard, Place, Substance


@pytest.fixture
def substances(engineer):
    """As much of the starter content as matters here."""
    kinds = {"acetone": Form.LIQUID, "propan-2-ol": Form.LIQUID, "nitrogen": Form.GAS}
    groups = {"cut-chip": ["nitrocellulose"], "lacquer-blanks": ["nitrocellulose"]}
    for slug in ("cut-chip", "lacquer-blanks", *kinds):
        form = kinds.get(slug, Form.SOLID)
        one = Substance.objects.create(name=slug, slug=slug, form=form, groups=groups.get(slug, []))
        if form == Form.LIQUID:
            Hazard.objects.create(substance=one, hazard_class="flammable-liquid", category="2", h_code="H225")
    Substance.objects.create(name=STRAY, slug="glass-cleaner", form=Form.LIQUID, groups=["amine"])


def test_the_room_knows_of_its_chip_and_its_solvents_keep_within_the_limit(engineer, substances):
    write_down_places(Hands(Random(1)), engineer)
    assert Place.objects.count() == len(SPOTS)
    layout = queries.layout()
    room = next(place for place in layout.places.values() if place.name == ROOM)
    assert 0 < layout.total(room).ml < room.limit_ml
    assert {one.at.name for one in layout.together} == {BENCH}
    assert all(one.answer is not None for one in layout.together)


def test_what_was_put_down_in_the_wrong_place_is_found(engineer, substances):
    write_down_places(Hands(Random(1)), engineer)
    misplace(Hands(Random(2)), engineer)
    (found,) = [one for one in queries.layout().together if one.answer is None]
    assert found.short == f"lacquer-blanks with {STRAY}"
