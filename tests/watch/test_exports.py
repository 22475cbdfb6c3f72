"""Alerts, carried away."""

import pytest
from django.urls import reverse

from shop import clock
from shop.watch.models import Alert
from tests.carrying.files import lines

pytestmark = pytest.mark.django_db


def test_alerts_go_out_those_that_stand_and_those_that_are_over(client_of, visitor):
    facts = {"link": "/room/", "opened_at": clock.now()}
    Alert.objects.create(key="room:gas", grade=3, subject="Gas", headline="=No cylinder", **facts)
    Alert.objects.create(key="room:dry", grade=2, subject="Air", headline="Dry", ended_at=clock.now(), **facts)
    client = client_of(visitor)
    standing, over, both = (lines(client, "alerts", query) for query in ("", "?state=over", "?state=all"))
    assert [(line["Grade"], line["What"], line["Gone"]) for line in standing] == [("hold", "'=No cylinder", "")]
    assert [line["What"] for line in over] == ["Dry"]
    assert [line["What"] for line in both] == ["'=No cylinder", "Dry"]
    assert 'href="/carry/alerts.csv"' in client.get(reverse("watch:alerts")).content.decode()
    assert 'href="/carry/alerts.csv?state=over"' in client.get(reverse("watch:ended-alerts")).content.decode()
