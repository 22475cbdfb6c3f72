"""Each address does for each role what the table of permissions says, and looking at pages changes nothing."""

from hashlib import sha256

import pytest
from django.apps import apps
from django.conf import settings
from django.test import Client

from shop import clock
from shop.people.models import Person, Role, Room
from tests.house.permissions import PERMISSIONS
from tests.house.world import addresses, build
from tests.makers import make_person, make_room


def test_every_address_is_in_the_table_and_the_table_holds_no_other():
    assert sorted(addresses()) == sorted(PERMISSIONS)


@pytest.fixture(scope="module")
def world(db_of_file, django_db_blocker):
    """The path of every address, in a room with one record of everything: one for all tests of this file."""
    with django_db_blocker.unblock(), clock.in_zone(make_room().zone):
        return build(make_person("tindrum", "Orla Tindrum", Role.OWNER))


@pytest.fixture
def room_row(world, db):
    room = Room.objects.get()
    with clock.in_zone(room.zone):
        yield room


@pytest.fixture
def owner(room_row):
    return Person.objects.get(sign_in="tindrum")


@pytest.fixture
def paths(world, room_row):
    return world


@pytest.fixture(params=list(Role), ids=list(Role))
def somebody(request, paths):
    """A person of each role in turn, signed in."""
    person = make_person("somebody", "Sun Body", request.param)
    client = Client(raise_request_exception=True)
    client.force_login(person)
    client.person = person
    return client


def everything():
    """What every table holds, but for the sign-ins."""
    kept = {}
    for model in apps.get_models():
        if model._meta.label_lower != "sessions.session":
            rows = sorted(map(repr, model._default_manager.values_list()))
            kept[model._meta.label] = sha256("\n".join(rows).encode()).hexdigest()
    return kept


def test_looking_answers_those_it_should_changes_nothing_and_is_kept_by_no_cache(somebody, paths):
    before, wrong = everything(), []
    for name, path in paths.items():
        may = PERMISSIONS[name]
        page = somebody.get(path)
        status = page.status_code
        if may.machine:
            right = status in (401, 405)
        elif somebody.person.role in may.look:
            right = status in (200, 302)
        else:
            right = status in (403, 405)
        if not right:
            wrong.append((name, status))
        # A calendar program may keep the feed that is its own, if it asks each time whether it changed.
        own = "private, no-cache" if name == "watch:calendar-feed" else "no-store"
        assert own in page.headers["Cache-Control"], name
        assert page.headers["X-Content-Type-Options"] == "nosniff", name
        assert "'unsafe-inline'" not in page.headers["Content-Security-Policy"], name
    assert wrong == []
    changed = [table for table, rows in everything().items() if before[table] != rows]
    assert changed == []


def test_pressing_answers_those_it_should_and_without_a_token_writes_nothing(somebody, paths):
    before, wrong = everything(), []
    for name, path in paths.items():
        may = PERMISSIONS[name]
        if name in ("people:sign-out", "people:sign-in") or may.secret:
            continue  # they write no record; they have tests of their own
        expected = (200, 409, 422) if somebody.person.role in may.press else (403, 405)
        for typed in ({}, {"name": "", "note": "x"}):
            status = somebody.post(path, typed).status_code
            if status not in expected:
                wrong.append((name, typed, status))
    assert wrong == []
    changed = [table for table, rows in everything().items() if before[table] != rows]
    assert changed == []


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_stranger_is_sent_to_sign_in_everywhere(paths, client, method):
    before, wrong = everything(), []
    for name, path in paths.items():
        may = PERMISSIONS[name]
        if may.secret and method == "post":
            continue
        page = getattr(client, method)(path)
        if may.machine:
            right = page.status_code in (401, 405)
        elif may.stranger:
            right = page.status_code in ((200, 422) if method == "get" or may.press else (405,))
        elif name == "people:sign-out" and method == "get":
            right = page.status_code == 405  # only a press signs out
        else:
            right = page.status_code == 302 and page.url.startswith("/people/sign-in/")
        if not right:
            wrong.append((name, page.status_code))
    assert wrong == []
    assert everything() == before


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_no_address_knows_other_methods(paths, owner, client_of, method):
    client = client_of(owner)
    found = {name: getattr(client, method)(path).status_code for name, path in paths.items()}
    found.pop("people:sign-in")  # leads somebody who has signed in on, whatever the method
    assert [(name, status) for name, status in found.items() if status != 405] == []


def test_a_press_from_another_site_is_refused(paths, owner):
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    before = everything()
    for name, path in paths.items():
        if PERMISSIONS[name].press and not PERMISSIONS[name].secret:
            assert client.post(path, {}).status_code == 403, name
    assert everything() == before


def test_somebody_switched_off_is_out_at_once(paths, engineer, client_of):
    client = client_of(engineer)
    engineer.is_active = False
    engineer.save()
    for name, path in paths.items():
        if not PERMISSIONS[name].stranger:
            assert client.get(path).status_code in (302, 405), name
    assert client.get(paths["morning:today"]).url.startswith(f"/{settings.LOGIN_URL.partition(':')[0]}/sign-in/")
