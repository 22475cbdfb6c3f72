"""Each sheet that comes with a new room, on paper: one page with nothing cut, on both papers, with numbers to call."""

import pytest
from django.urls import reverse

from shop.people.models import Room
from shop.people.starter import load_starter
from shop.safety.models import CallNumber, HazardSheet
from tests.safety.papers import is_accessible, stands_within, words

pytestmark = [pytest.mark.django_db, pytest.mark.paper]


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_every_starter_sheet_is_one_accessible_page(owner, client_of, tmp_path, settings, size):
    settings.MEDIA_ROOT = tmp_path / "files"
    load_starter()
    Room.objects.update(paper=size)
    for order, name in enumerate(("Fire service", "Ambulance", "Poison centre")):
        CallNumber.objects.create(name=name, number="0800 555 0199", when="At any hour", order=order)
    client = client_of(owner)
    sheets = list(HazardSheet.objects.all())
    assert len(sheets) >= 12
    for sheet in sheets:
        made = client.get(reverse("safety:sheet-pdf", args=[sheet.slug])).content
        (said,) = words(made)
        assert sheet.title in said
        assert "NOT IN FORCE" in said.upper()
        stands_within(made, size, tmp_path)
        if size == "A4":  # the tags are the same on both
            is_accessible(made, tmp_path)
