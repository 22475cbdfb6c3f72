"""A job that somebody waits for: started once its cause is kept, in a thread or by Celery."""

from threading import Event

import pytest
from django.db import transaction
from kombu.exceptions import OperationalError

from shop.jobs import registry, soon, tasks


@pytest.fixture
def job():
    """A job of this test's own, and the event that says it ran."""
    ran = Event()
    registry.register("something long", registry.each_day, ran.set)
    yield ran
    registry._jobs.pop("something long")


@pytest.mark.django_db(transaction=True)
def test_runs_in_a_thread_once_its_cause_is_kept(job):
    with transaction.atomic():
        soon.soon("something long")
        assert not job.wait(0.2)
    assert job.wait(20)


@pytest.mark.django_db(transaction=True)
def test_does_not_run_for_what_was_not_kept(job):
    with transaction.atomic():
        soon.soon("something long")
        transaction.set_rollback(True)
    assert not job.wait(0.2)


@pytest.mark.django_db(transaction=True)
def test_goes_to_celery_where_there_is_redis(job, settings, monkeypatch):
    asked = []
    settings.REDIS_URL = "redis://127.0.0.1:6379/0"
    monkeypatch.setattr(tasks.run_one, "delay", asked.append)
    soon.soon("something long")
    assert asked == ["something long"]
    assert not job.is_set()
    tasks.run_one("something long")
    assert job.is_set()


def test_a_job_that_fails_in_its_thread_is_logged(caplog, monkeypatch):
    def fail():
        raise OSError("no room")

    registry.register("something that fails", registry.each_day, fail)
    monkeypatch.setattr(soon.connections, "close_all", lambda: None)  # the test's own
    soon._in_thread("something that fails")
    registry._jobs.pop("something that fails")
    assert "something that fails failed" in caplog.text


@pytest.mark.django_db(transaction=True)
def test_while_the_broker_is_away_it_runs_here(job, settings, monkeypatch, caplog):
    def nobody_answers(name):
        raise OperationalError("connection refused")

    settings.REDIS_URL = "redis://127.0.0.1:6379/0"
    monkeypatch.setattr(tasks.run_one, "delay", nobody_answers)
    soon.soon("something long")
    assert job.wait(20)
    assert "the broker does not answer" in caplog.text
