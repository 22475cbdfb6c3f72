"""Background work with a real Redis: any number of workers, one beat, each job once a period."""

import sqlite3
import sys
from contextlib import ExitStack, closing

import pytest

from tests.services.conftest import ROOT, environment
from tests.services.servers import running, wait_until

pytestmark = pytest.mark.services

JOBS = {"clear ended sessions", "forget old runs", "forget old presses"}


@pytest.fixture
def room(redis, tmp_path, run_python):
    """The environment of a room with its tables, whose background work is Celery's."""
    variables = {"LATHESIDE_DATA": str(tmp_path), "REDIS_URL": redis}
    run_python(["manage.py", "migrate", "--verbosity", "0"], **variables)
    return variables


def asked(room, question):
    with closing(sqlite3.connect(f"{room['LATHESIDE_DATA']}/latheside.sqlite3", timeout=20)) as database, database:
        return database.execute(question).fetchall()


def runs(room):
    """Finished runs, by job."""
    return [job for (job,) in asked(room, "SELECT job FROM jobs_jobrun WHERE ended_at IS NOT NULL")]


def assert_each_once(jobs):
    """All of ``JOBS``, and no job twice, among what was read at one moment: more may end while we look."""
    assert set(jobs) >= JOBS
    assert len(jobs) == len(set(jobs))


def test_workers_and_beat_run_each_job_once(room, tmp_path, run_python):
    celery = [sys.executable, "-m", "celery", "-A", "shop.celery"]
    worker = [*celery, "worker", "--concurrency", "1", "--without-mingle", "--without-gossip", "--loglevel", "INFO"]
    options = {"cwd": ROOT, "env": environment(**room)}
    logs = [tmp_path / "one.log", tmp_path / "two.log"]
    with ExitStack() as stack:
        for log in logs:
            stack.enter_context(running([*worker, "--hostname", log.stem], log, **options))
        for log in logs:
            wait_until(lambda log=log: "ready." in log.read_text(errors="replace"), 60, f"{log.stem} is ready")

        # Twelve calls at once, as after a time without workers, run each job once
        sent = "from shop.celery import app; import shop.jobs.tasks as t; [t.run_due.delay() for _ in range(12)]"
        run_python(["manage.py", "shell", "--no-imports", "-c", sent], **room)
        wait_until(lambda: sum(log.read_text().count(" succeeded in ") for log in logs) >= 12, 60, "all calls done")
        assert_each_once(runs(room))

        # The beat asks by itself at the next full minute
        asked(room, "DELETE FROM jobs_jobrun")
        beat = [*celery, "beat", "--pidfile", "", "--loglevel", "INFO"]
        beats = [tmp_path / "beat-one.log", tmp_path / "beat-two.log"]
        for log in beats:
            stack.enter_context(running(beat, log, **options))
        wait_until(lambda: set(runs(room)) >= JOBS, 90, "the beat had the jobs run")
        assert_each_once(runs(room))
        asked_by = [log.read_text().count("Sending due task") for log in beats]
        assert sorted(asked_by)[0] == 0, "of two beats one waits"
        assert max(asked_by) > 0


def test_the_cache_is_shared_through_redis(room, run_python):
    shell = ["manage.py", "shell", "--no-imports", "-c"]
    run_python([*shell, "from django.core.cache import cache; cache.set('word', 'kept', 60)"], **room)
    assert "kept" in run_python([*shell, "from django.core.cache import cache; print(cache.get('word'))"], **room)
