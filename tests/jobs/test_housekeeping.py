from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone

from shop import clock
from shop.jobs import housekeeping
from shop.jobs.models import JobRun
from shop.press.housekeeping import forget_old_presses
from shop.press.models import Press

NOW = datetime(2025, 6, 10, 3, 0, tzinfo=UTC)


@pytest.mark.django_db
def test_ended_sessions_go_and_others_stay():
    for key, days in (("ended", -1), ("open", 1)):
        Session.objects.create(session_key=key, session_data="", expire_date=timezone.now() + timedelta(days=days))
    housekeeping.clear_ended_sessions()
    assert list(Session.objects.values_list("session_key", flat=True)) == ["open"]


def test_presses_are_remembered_for_90_days(engineer):
    old, young = uuid4(), uuid4()
    for token, age in ((old, timedelta(days=90, seconds=1)), (young, timedelta(days=90))):
        Press.objects.create(token=token, by=engineer, act="a", digest="d", at=NOW - age)
    with clock.moved(NOW):
        assert forget_old_presses() == "1 forgotten"
    assert Press.objects.get().token == young


@pytest.mark.django_db
def test_runs_are_kept_for_90_days():
    for period, age in (("old", timedelta(days=90, seconds=1)), ("young", timedelta(days=90))):
        JobRun.objects.create(job="a", period=period, started_at=NOW - age)
    with clock.moved(NOW):
        assert housekeeping.forget_old_runs() == "1 forgotten"
    assert JobRun.objects.get().period == "young"
