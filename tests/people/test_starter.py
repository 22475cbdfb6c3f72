"""The loader of starter content."""

import json

import pytest
from django.test import override_settings

from shop.people.starter import load_starter
from shop.safety.models import Kept, Place, Substance


@pytest.fixture
def files(tmp_path):
    """Write a file of starter content."""
    (tmp_path / "fixtures").mkdir()
    with override_settings(BASE_DIR=tmp_path):
        yield lambda name, *rows: (tmp_path / "fixtures" / name).write_text(json.dumps(rows))


def row(model, pk, **fields):
    return {"model": f"safety.{model}", "pk": pk, "fields": fields}


def test_an_app_may_have_files_by_topic_that_name_each_other(db, files):
    files("starter_safety_a.json", row("kept", 1, place=1, substance=1))
    files("starter_safety_b.json", row("place", 1, name="Cupboard"))
    files("starter_safety.json", row("substance", 1, name="Ether", slug="ether", form="liquid"))
    assert load_starter() == 3
    assert str(Kept.objects.get()) == "Ether in Cupboard"


def test_what_people_changed_stays_and_the_count_is_of_what_was_added(db, files):
    files("starter_safety_b.json", row("place", 1, name="Cupboard"))
    load_starter()
    Place.objects.update(name="Steel cupboard")
    files("starter_safety_b.json", row("place", 1, name="Cupboard"), row("place", 2, name="Shelf"))
    assert load_starter() == 1
    assert [place.name for place in Place.objects.all()] == ["Shelf", "Steel cupboard"]


def test_files_of_other_names_are_left_alone(db, files):
    files("starter_unsafe_b.json", row("substance", 1, name="Ether", slug="ether", form="liquid"))
    assert load_starter() == 0
    assert not Substance.objects.exists()
