"""Jobs run by themselves: each once a period, whatever number of clocks tick."""

from datetime import UTC, datetime, timedelta

import pytest

from shop import clock
from shop.jobs import registry, tasks
from shop.jobs.models import JobRun
from tests.makers import together

NOW = datetime(2025, 3, 3, 23, 59, 30, tzinfo=UTC)


@pytest.fixture
def jobs(monkeypatch):
    """An empty registry for the length of the test."""
    monkeypatch.setattr(registry, "_jobs", {})
    return registry


@pytest.fixture
def ran():
    return []


@pytest.mark.parametrize(
    ("period", "same", "next_one"),
    [
        (registry.each_minute, timedelta(seconds=29), timedelta(seconds=30)),
        (registry.each_hour, timedelta(minutes=-59), timedelta(seconds=30)),
        (registry.each_day, timedelta(hours=-23), timedelta(seconds=30)),
    ],
)
def test_a_period_has_one_name_and_the_next_another(period, same, next_one):
    assert period(NOW) == period(NOW + same)
    assert period(NOW) != period(NOW + next_one)


def test_periods_do_not_depend_on_the_zone_of_the_moment():
    with clock.in_zone("Pacific/Auckland"):
        assert registry.each_day(NOW.astimezone()) == "2025-03-03"


@pytest.mark.django_db
def test_a_job_runs_once_a_period(jobs, ran):
    jobs.register("count", registry.each_hour, lambda: ran.append(1))
    for minutes in (0, 0, -10, -59):
        jobs.run_due(NOW + timedelta(minutes=minutes))
    assert ran == [1]
    jobs.run_due(NOW + timedelta(minutes=1))
    assert ran == [1, 1]


@pytest.mark.django_db
def test_a_run_is_kept_with_what_came_of_it(jobs):
    jobs.register("speak", registry.each_day, lambda: "three cleared")
    jobs.register("silent", registry.each_day, lambda: None)
    assert [run.job for run in jobs.run_due(NOW)] == ["speak", "silent"]
    kept = JobRun.objects.get(job="speak")
    assert (kept.period, kept.started_at, kept.outcome) == ("2025-03-03", NOW, "done: three cleared")
    assert kept.ended_at is not None
    assert JobRun.objects.get(job="silent").outcome == "done"
    assert jobs.run_due(NOW) == []


@pytest.mark.django_db
def test_a_failed_job_says_so_hides_no_other_and_is_due_again(jobs, ran, caplog):
    def fails():
        ran.append("failed")
        raise OSError("x" * 500)

    jobs.register("fails", registry.each_day, fails)
    jobs.register("works", registry.each_day, lambda: ran.append("worked"))
    jobs.run_due(NOW)
    assert ran == ["failed", "worked"]
    kept = JobRun.objects.get(job="fails")
    assert kept.outcome.startswith("failed: OSError: xxx")
    assert kept.ended_at is not None
    assert "the job fails failed" in caplog.text
    jobs.run_due(NOW)
    assert ran == ["failed", "worked"]
    jobs.run_due(NOW + timedelta(days=1))
    assert ran == ["failed", "worked", "failed", "worked"]


@pytest.mark.django_db(transaction=True)
def test_many_clocks_ticking_at_once_run_it_once(jobs, ran):
    jobs.register("count", registry.each_day, lambda: ran.append(1))
    results = together(*[lambda: jobs.run_due(NOW)] * 6)
    assert ran == [1]
    assert sorted(map(len, results)) == [0, 0, 0, 0, 0, 1]
    assert JobRun.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_job_may_open_a_durable_transaction(jobs, engineer):
    from django.db import transaction

    def writes():
        with transaction.atomic(durable=True):
            JobRun.objects.create(job="inner", period="1", started_at=NOW)

    jobs.register("writes", registry.each_day, writes)
    (run,) = jobs.run_due(NOW)
    assert run.outcome == "done"


@pytest.mark.django_db
def test_a_tick_with_nothing_due_writes_nothing(jobs, django_assert_num_queries):
    jobs.register("count", registry.each_day, lambda: None)
    jobs.run_due(NOW)
    with django_assert_num_queries(1):
        jobs.run_due(NOW)


@pytest.mark.django_db
def test_the_celery_task_runs_what_is_due(jobs, ran):
    jobs.register("count", registry.each_day, lambda: ran.append(1))
    tasks.run_due()
    tasks.run_due()
    assert ran == [1]


def test_what_is_registered():
    assert {"clear ended sessions", "forget old runs", "forget old presses"} <= {
        job.name for job in registry.registered()
    }
