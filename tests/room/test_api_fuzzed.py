"""The interface fuzzed from its own description: whatever is sent, no error of ours, and answers as described."""

import pytest
import schemathesis
from django.core.cache import cache
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS

from shop.room.api import pace
from shop.room.models import Instrument
from shop.wsgi import application
from tests.room import makers
from tests.room.instruments import SECRET, add_instrument

#: A reading that the description does not allow is refused by itself, within an answer of 200, so that the others are
#: kept; the check would have the whole batch refused. What is refused is held in test_instrument_readings.py.
EXCEPT = ("negative_data_rejection",)


@pytest.fixture
def described(owner, monkeypatch):
    cache.clear()
    monkeypatch.setattr(pace, "OF_INSTRUMENT", 10**9)
    monkeypatch.setattr(pace, "OF_ADDRESS", 10**9)
    for signal in (request_started, request_finished):  # the test's own transaction stays open, as the client has it
        signal.disconnect(close_old_connections)
    add_instrument(owner, kinds=("room_c", "room_rh", "nitrogen_bar", "chip_kpa"))
    makers.connected_cylinder(owner)
    yield schemathesis.openapi.from_wsgi("/api/openapi.json", application)
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
@pytest.mark.parametrize(("path", "method"), [("/api/readings/", "POST"), ("/api/instrument/", "GET")])
@pytest.mark.parametrize("token", [SECRET, "unknown"])
def test_whatever_is_sent_is_answered_as_described(described, path, method, mode, token):
    answered = set()
    headers = {"Authorization": f"Bearer {token}", "Accept-Encoding": "identity"}

    @given(case=described[path][method].as_strategy(generation_mode=mode))
    @settings(
        max_examples=40 if token == SECRET else 10,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
    )
    def ask(case):
        response = case.call_and_validate(
            headers=headers, excluded_checks=[check for check in CHECKS.get_all() if check.__name__ in EXCEPT]
        )
        answered.add(response.status_code)

    ask()
    if token == SECRET:  # what is made wrong may be the token itself
        assert answered & {200, 400}
        assert answered <= {200, 400, 401, 415}
    else:
        assert answered == {401}
    assert Instrument.objects.get().revoked_at is None
