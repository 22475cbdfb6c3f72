"""The room's settings come along with whoever signed in."""

import pytest

from shop.people.models import Person, Room
from shop.people.queries import the_room
from shop.recall import looking


def test_a_page_asks_for_the_person_and_the_room_at_once(engineer, client_of, django_assert_max_num_queries):
    browser = client_of(engineer)
    with django_assert_max_num_queries(12) as asked:
        assert "Tindrum Street Cutting Room" in browser.get("/people/more/").content.decode()
    of_the_room = [one["sql"] for one in asked.captured_queries if "people_room" in one["sql"]]
    assert len(of_the_room) == 1
    assert of_the_room[0].startswith('SELECT "people_person"')


def test_it_is_the_room_as_it_stands(engineer, client_of):
    browser = client_of(engineer)
    browser.get("/people/more/")
    Room.objects.filter(pk=1).update(name="Elsewhere Hall", zone="America/Chicago")
    page = browser.get("/people/more/")
    assert "Elsewhere Hall" in page.content.decode()
    assert page.wsgi_request.room == Room.objects.get(pk=1)
    assert page.wsgi_request.room.zone == "America/Chicago"


def test_before_a_room_is_opened_there_are_its_defaults(engineer, client_of):
    Room.objects.all().delete()
    assert client_of(engineer).get("/people/more/").wsgi_request.room.name == "Cutting room"


@pytest.mark.django_db
def test_a_stranger_meets_the_room_too(room_row, client):
    assert "Tindrum Street Cutting Room" in client.get("/people/sign-in/").content.decode()


def test_somebody_switched_off_is_nobody(engineer, client_of):
    browser = client_of(engineer)
    Person.objects.update(is_active=False)
    assert browser.get("/people/more/").status_code == 302


def test_what_came_along_is_told_within_the_block_only(room_row, django_assert_num_queries):
    other = Room(pk=1, name="Told")
    with looking(), django_assert_num_queries(0):
        the_room.tell(other)
        assert the_room() is other
    the_room.tell(other)
    assert the_room() == room_row
