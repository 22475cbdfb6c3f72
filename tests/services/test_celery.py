"""Background work with a real Redis: any number of workers and beats, each job once a period."""

import shutil
import sqlite3
import sys
import time
from collections import Counter
from contextlib import ExitStack, closing

import pytest

from tests.house.files import ROOT
from tests.processes import environment
from tests.services.servers import running, wait_until

pytestmark = pytest.mark.services

#: Run once a day, and so once in these tests.
JOBS = {"clear ended sessions", "forget old runs", "forget old presses"}
SWEEP = "watch: sweep"


@pytest.fixture
def room(redis, tmp_path, run_python, migrated):
    """The environment of a room just opened, whose background work is Celery's."""
    variables = {"LATHESIDE_DATA": str(tmp_path), "REDIS_URL": redis}
    shutil.copy(migrated, tmp_path)
    said = ["--name", "Brindle Lane", "--zone", "UTC", "--units", "metric", "--owner-name", "Orla", "--sign-in", "orla"]
    run_python(
        ["manage.py", "open", "--no-serve", *said], **variables, LATHESIDE_OWNER_PASSWORD="the lathe hums at four"
    )
    return variables


def asked(room, question):
    with closing(sqlite3.connect(f"{room['LATHESIDE_DATA']}/latheside.sqlite3", timeout=20)) as database, database:
        return database.execute(question).fetchall()


def runs(room):
    """How often each job ran through, as read at one moment: more may end while we look."""
    return Counter(job for (job,) in asked(room, "SELECT job FROM jobs_jobrun WHERE outcome LIKE 'done%'"))


def assert_each_once(room, began):
    """Each of ``JOBS`` ran once, the sweep once for each of its periods since `began`, and what it raised it raised
    once."""
    ran, ended = runs(room), time.time()
    days = int(ended // 86400) - int(began // 86400) + 1
    assert all(1 <= ran[job] <= days for job in JOBS), ran
    assert 1 <= ran[SWEEP] <= int(ended // 300) - int(began // 300) + 1
    raised = asked(room, "SELECT key, count(*) FROM watch_alert GROUP BY key")
    assert ("morning:no-check", 1) in raised
    assert {count for _, count in raised} == {1}
    opened = "SELECT count(*) FROM watch_alertstep WHERE kind = 'opened' GROUP BY alert_id"
    assert {count for (count,) in asked(room, opened)} == {1}


def said(log):
    return log.read_text(errors="replace")


def test_workers_and_beats_run_each_job_once(room, tmp_path, run_python):
    celery = [sys.executable, "-m", "celery", "-A", "shop.celery"]
    worker = [*celery, "worker", "--concurrency", "1", "--without-mingle", "--without-gossip", "--loglevel", "INFO"]
    options = {"cwd": ROOT, "env": environment(**room)}
    logs = [tmp_path / "one.log", tmp_path / "two.log"]
    with ExitStack() as stack:
        for log in logs:
            stack.enter_context(running([*worker, "--hostname", log.stem], log, **options))
        for log in logs:
            wait_until(lambda log=log: "ready." in said(log), 60, f"{log.stem} is ready")

        # Twelve calls at once, as after a time without workers, run each job once
        began = time.time()
        sent = "from shop.celery import app; import shop.jobs.tasks as t; [t.run_due.delay() for _ in range(12)]"
        run_python(["manage.py", "shell", "--no-imports", "-c", sent], **room)
        wait_until(lambda: sum(said(log).count(" succeeded in ") for log in logs) >= 12, 60, "all calls done")
        assert_each_once(room, began)

        # Of two beats one asks, by itself at the next full minute, and there is one sweep
        asked(room, "DELETE FROM jobs_jobrun")
        began = time.time()
        beat = [*celery, "beat", "--pidfile", "", "--loglevel", "INFO"]
        beats = [tmp_path / "beat-one.log", tmp_path / "beat-two.log"]
        processes = [stack.enter_context(running(beat, log, **options)) for log in beats]
        wait_until(lambda: set(runs(room)) >= {*JOBS, SWEEP}, 120, "the beat had the jobs run")
        assert_each_once(room, began)
        have = [("Acquired lock" in said(log), said(log).count("Sending due task") > 0) for log in beats]
        assert sorted(have) == [(False, False), (True, True)]

        # Once it ends, the other beats
        first = have.index((True, True))
        processes[first].terminate()
        wait_until(lambda: "Acquired lock" in said(beats[1 - first]), 60, "the other beat follows")


def test_the_cache_is_shared_through_redis(room, run_python):
    shell = ["manage.py", "shell", "--no-imports", "-c"]
    run_python([*shell, "from django.core.cache import cache; cache.set('word', 'kept', 60)"], **room)
    assert "kept" in run_python([*shell, "from django.core.cache import cache; print(cache.get('word'))"], **room)
