"""However much there is in a room, the sweep asks as little: a fixed number of queries for each app, and for itself."""

import pytest
from django.db import transaction

from shop import clock
from shop.duties.starting import work_out_care
from shop.watch.models import Alert
from shop.watch.sweep import sweep
from tests.bench.sweep import fill, queries_of, questions

pytestmark = pytest.mark.django_db


def asked_of(size):
    """Queries of each app's question and of sweeps, and how many worries there are, in a room of `size` lots."""
    with clock.in_zone("UTC"), transaction.atomic():
        fill(duties=2 * size, lots=size, styli=size)
        work_out_care()
        sweep()
        asked = {name: queries_of(ask) for name, ask in questions().items()}
        asked["a sweep with nothing new"] = queries_of(sweep)
        Alert.objects.update(headline="as it was")
        writing = queries_of(sweep) - asked["a sweep with nothing new"]
        worries = {name: len(ask()) for name, ask in questions().items()}
        transaction.set_rollback(True)
    return asked, worries, writing


def test_a_room_ten_times_as_large_is_swept_by_as_many_queries():
    small, few, _ = asked_of(15)
    large, many, writing = asked_of(150)
    assert large == small
    for app in ("stock", "duties", "cutting"):
        assert few[app] * 5 < many[app], f"more of {app} to worry about, or this would prove nothing"
    assert large["a sweep with nothing new"] <= 20
    assert writing <= sum(many.values()) / 20, "what changed is written many rows at once"
