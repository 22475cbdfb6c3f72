"""The room's rules of the door, changed by owners."""

from uuid import uuid4

import pytest

from shop.people import actions
from shop.people.models import Room
from shop.refusal import Changed, NotAllowed, Refused

ADDRESS = "/people/room/signing-in/"
KEPT = {"invitation_hours": 48, "tablet_idle_minutes": 3, "owners_need_second_factor": False}


def change(by, version=1, **other):
    return actions.change_sign_in_rules(by=by, once=uuid4(), version=version, **KEPT | other)


def test_they_are_changed(owner, client_of):
    typed = {"once": str(uuid4()), "version": "1", "invitation_hours": "48", "tablet_idle_minutes": "3"}
    client = client_of(owner)
    for _ in range(2):
        assert client.post(ADDRESS, typed)["Location"] == ADDRESS
    room = Room.objects.get()
    assert (room.invitation_hours, room.tablet_idle_minutes, room.version) == (48, 3, 2)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"invitation_hours": 0}, "invitation_hours"),
        ({"invitation_hours": 721}, "invitation_hours"),
        ({"tablet_idle_minutes": 0}, "tablet_idle_minutes"),
        ({"tablet_idle_minutes": 121}, "tablet_idle_minutes"),
    ],
)
def test_what_is_out_of_bounds_is_refused(owner, typed, field):
    with pytest.raises(Refused) as no:
        change(owner, **typed)
    assert no.value.field == field


def test_a_stale_change_is_refused(owner):
    change(owner)
    with pytest.raises(Changed):
        change(owner)


@pytest.mark.parametrize("role", ["engineer", "assistant", "visitor"])
def test_only_owners_change_them(role, request, room_row):
    with pytest.raises(NotAllowed):
        change(request.getfixturevalue(role))


def test_the_rooms_other_settings_stay(owner):
    change(owner, owners_need_second_factor=True)
    room = Room.objects.get()
    assert (room.name, room.zone, room.owners_need_second_factor) == (
        "Tindrum Street Cutting Room",
        "Europe/Lisbon",
        True,
    )
