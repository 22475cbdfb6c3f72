"""The pages of containers."""

from uuid import uuid4

import pytest
from django.urls import reverse

from shop.safety.models import Container, Level, OpenLimit
from tests.makers import at
from tests.safety import place_makers as places
from tests.safety.bottles import acetone, finish, open_one, read_level
from tests.stock.makers import make_lot

OPEN = "/hazards/containers/open/"


@pytest.fixture
def shelf(engineer):
    return places.make_place(engineer, "Cupboard", volume_m3=30.0)


@pytest.fixture
def solvent(engineer):
    return acetone(engineer)[0]


@pytest.fixture
def lot(engineer, solvent):
    return make_lot(engineer, solvent.items.get(), 5000, code="AC-1")


def press(browser, path, **typed):
    return browser.post(path, {"once": str(uuid4()), **typed})


def test_one_is_opened_from_a_lot_which_says_what_it_is_of(client_of, assistant, solvent, shelf, lot):
    browser = client_of(assistant)
    page = browser.get(OPEN).content.decode()
    assert "Lot AC-1, Acetone 1 l" in page
    answer = press(browser, OPEN, lot=lot.pk, nominal_ml="1 l", place=shelf.pk, full_g="1203 g")
    one = Container.objects.get()
    assert answer.url == one.get_absolute_url()
    assert (one.substance, one.nominal_ml, one.lot) == (solvent, 1000, lot)
    page = browser.get(answer.url).content.decode()
    assert "its handbook, 20 °C" in page
    assert reverse("safety:labels") + "?substance=acetone" in page
    assert reverse("safety:what-if") + f"?place={shelf.pk}" in page


def test_what_is_in_it_is_asked_for_where_nothing_tells(client_of, assistant, solvent, shelf):
    answer = press(client_of(assistant), OPEN, nominal_ml="1 l", place=shelf.pk)
    assert answer.status_code == 422
    assert "Choose what is in it." in answer.content.decode()


def test_a_level_is_read_by_weight_or_by_its_mark(client_of, assistant, solvent, shelf):
    weighed, bare = open_one(assistant, solvent, shelf, tare_g=412.7), open_one(assistant, solvent, shelf)
    browser = client_of(assistant)
    assert "It weighs, with its cap" in browser.get(f"/hazards/containers/{weighed.pk}/level/").content.decode()
    assert "It weighs" not in browser.get(f"/hazards/containers/{bare.pk}/level/").content.decode()
    assert press(browser, f"/hazards/containers/{weighed.pk}/level/", gross_g="807.85 g").status_code == 302
    assert press(browser, f"/hazards/containers/{bare.pk}/level/", share_percent="25").status_code == 302
    assert sorted(Level.objects.values_list("ml", flat=True)) == [250, 500]
    refused = press(browser, f"/hazards/containers/{weighed.pk}/level/", gross_g="100 g")
    assert refused.status_code == 422
    assert "cannot weigh less" in refused.content.decode()


def test_moved_and_finished(client_of, engineer, assistant, solvent, shelf):
    one, bench = open_one(assistant, solvent, shelf), places.make_place(engineer, "Bench")
    browser, path = client_of(assistant), f"/hazards/containers/{one.pk}/"
    assert press(browser, f"{path}move/", place=bench.pk).status_code == 302
    assert press(browser, f"{path}finish/", how="waste").status_code == 422
    assert press(browser, f"{path}finish/", how="waste", note="red can").status_code == 302
    assert "red can" in browser.get(path).content.decode()
    assert press(browser, f"{path}finish/", how="used").status_code == 422
    assert f"no. {one.pk}" in browser.get("/hazards/containers/").content.decode()


def test_a_limit_after_opening_is_set(client_of, engineer, solvent, shelf):
    path = "/hazards/substances/acetone/after-opening/"
    assert press(client_of(engineer), path, days="90", because="its supplier", version="0").status_code == 302
    assert OpenLimit.objects.get().days == 90
    one = open_one(engineer, solvent, shelf)
    page = client_of(engineer).get(one.get_absolute_url()).content.decode()
    assert "used within 90 days (its supplier)" in page


def test_a_visitor_looks_and_presses_nothing(client, client_of, visitor, assistant, solvent, shelf):
    one = open_one(assistant, solvent, shelf)
    browser = client_of(visitor)
    assert browser.get("/hazards/containers/").status_code == 200
    assert browser.get(one.get_absolute_url()).status_code == 200
    for path in (OPEN, *(f"{one.get_absolute_url()}{verb}/" for verb in ("level", "move", "finish"))):
        assert browser.get(path).status_code == 403
        assert press(browser, path).status_code == 403
    assert client.get("/hazards/containers/").status_code == 302
    assert browser.post("/hazards/containers/").status_code == 405


def test_the_pages_keep_to_their_queries(client_of, assistant, solvent, shelf, django_assert_max_num_queries):
    for number in range(12):
        with at(f"2025-03-{number + 1:02} 09:00"):
            one = open_one(assistant, solvent, shelf)
            read_level(assistant, one, share=0.9)
            if number % 2:
                finish(assistant, one)
    browser = client_of(assistant)
    for path in ("/hazards/containers/", one.get_absolute_url()):
        with django_assert_max_num_queries(12):
            assert browser.get(path).status_code == 200


def test_the_places_page_names_what_stands_open(client_of, assistant, solvent, shelf):
    one = open_one(assistant, solvent, shelf)
    page = client_of(assistant).get(shelf.get_absolute_url()).content.decode()
    assert one.get_absolute_url() in page
    assert "open or in stock" in page
