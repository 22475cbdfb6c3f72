"""Readings and cylinders, carried away."""

from uuid import uuid4

import pytest
from django.urls import reverse

from shop.room import actions
from tests.carrying.files import lines
from tests.room.makers import connected_cylinder, take

pytestmark = pytest.mark.django_db


def test_readings_go_out_in_the_units_they_are_kept_in_and_say_which_count(client_of, engineer, visitor):
    connected_cylinder(engineer, "N-2")
    wrong = take(engineer, room_c=21.5)
    take(engineer, nitrogen_bar=190.0)
    actions.correct_reading(by=engineer, once=uuid4(), reading=wrong, value=20.5, reason="=misread")
    visitor.temperature_unit = "degF"
    visitor.save()
    client = client_of(visitor)
    told = ("What", "Read", "Unit", "Cylinder", "Note", "Corrects number", "Counts")
    found = [tuple(line[name] for name in told) for line in lines(client, "readings")]
    assert sorted(found) == [
        ("Nitrogen gauge", "190.0", "bar", "N-2", "", "", "yes"),
        ("Room temperature", "20.5", "°C", "", "'=misread", str(wrong.pk), "yes"),
        ("Room temperature", "21.5", "°C", "", "", "", "no"),
    ]
    assert len(lines(client, "readings", "?kind=room_c")) == 2
    page = client.get(reverse("room:reading", args=["room_c"])).content.decode()
    assert 'href="/carry/readings.csv?kind=room_c"' in page
    page = client.get(reverse("room:readings") + "?kind=nitrogen_bar").content.decode()
    assert 'href="/carry/readings.csv?kind=nitrogen_bar"' in page


def test_cylinders_go_out_in_every_state(client_of, engineer, visitor):
    connected_cylinder(engineer, "N-2")
    (line,) = lines(client_of(visitor), "cylinders")
    assert (line["Cylinder"], line["State"], line["Water volume, l"]) == ("N-2", "connected", "50.0")
