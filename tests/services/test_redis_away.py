"""Redis stopped in the middle of a day: every page works, the room is watched, and nothing is lost."""

import json
import shutil
import signal
import sqlite3
import sys
import time
from contextlib import ExitStack, closing

import pytest

from tests.house.files import ROOT
from tests.processes import environment
from tests.services.servers import mortal_redis, running, wait_until

pytestmark = [pytest.mark.services, pytest.mark.sqlite]

CELERY = [sys.executable, "-m", "celery", "-A", "shop.celery"]
WORKER = [*CELERY, "worker", "--concurrency", "1", "--without-mingle", "--without-gossip", "--loglevel", "INFO"]
BEAT = [*CELERY, "beat", "--pidfile", "", "--loglevel", "INFO"]


@pytest.fixture
def redis():
    with mortal_redis() as server:
        yield server


@pytest.fixture
def variables(redis, letterbox, tmp_path, run_python, migrated):
    found = {
        "LATHESIDE_DATA": str(tmp_path),
        "REDIS_URL": redis.address,
        "EMAIL_URL": f"smtp://127.0.0.1:{letterbox.port}",
        "DJANGO_SETTINGS_MODULE": "shop.settings",
    }
    shutil.copy(migrated, tmp_path)
    run_python(["manage.py", "collectstatic", "--no-input", "--verbosity", "0"], **found)
    return found


def test_a_room_whose_redis_stops_goes_on_and_takes_it_up_again(redis, variables, letterbox, tmp_path, run_python):
    options = {"cwd": ROOT, "env": environment(**variables)}
    log = {name: tmp_path / f"{name}.log" for name in ("worker", "beat", "beat-again")}

    def room(question, *given):
        with closing(sqlite3.connect(f"{tmp_path}/latheside.sqlite3", timeout=20)) as database, database:
            return database.execute(question, given).fetchall()

    def deliveries():
        """Their states, and whether they were tried."""
        return [(state, bool(tried)) for state, tried in room("SELECT state, attempts FROM watch_delivery")]

    def due_again():
        """As if none of the jobs had run yet: what looks next runs each of them."""
        room("DELETE FROM jobs_jobrun")

    def web(*what):
        return json.loads(run_python(["-m", "tests.services.web", *what], **variables).splitlines()[-1])

    def said(name):
        return log[name].read_text(errors="replace")

    paths = web("build")
    with ExitStack() as stack:
        stack.enter_context(running(WORKER, log["worker"], **options))
        wait_until(lambda: "ready." in said("worker"), 60, "the worker is ready")
        with running(BEAT, log["beat"], **options) as beat:
            wait_until(lambda: "Acquired lock" in said("beat"), 60, "the beat beats")
            beat.send_signal(signal.SIGSTOP)  # so that it finds Redis gone once all this is so
            redis.kill()
            letterbox.script += ["refuse"] * 50
            web("empty")
            due_again()
            beat.send_signal(signal.SIGCONT)

            # The hold is noticed and wished to be told by the beat itself; the mail server will not have it yet
            wait_until(lambda: deliveries() == [("wanted", True)], 90, "the beat swept, and tried to send")
            assert "looking for due jobs here meanwhile" in said("beat")
            assert letterbox.received == []

            began = time.monotonic()
            walked = web("walk", json.dumps(paths))
            amiss = {name: status for name, status in walked["answers"].items() if status not in (200, 302)}
            assert amiss == {"watch:health-json": 503}, "which is there to say so"
            assert len(walked["answers"]) > 100
            assert walked["logged"] == [302, 1]
            assert walked["sent"] == [302, "ready", 200]
            pages = f"{len(walked['answers'])} pages in {time.monotonic() - began:.0f} s"
            print(f"{pages}, the slowest in {walked['slowest_s']:.1f} s; a long file taken in {walked['sent_s']:.1f} s")

        # Then neither Redis nor a beat for a while; then both, and Redis empty: the worker does what was put off
        assert (letterbox.received, deliveries()) == ([], [("wanted", True)])
        letterbox.script.clear()
        room("UPDATE watch_delivery SET not_before = made_at")
        due_again()
        done_before = said("worker").count(" succeeded in ")
        redis.start()
        stack.enter_context(running(BEAT, log["beat-again"], **options))
        wait_until(lambda: deliveries() == [("sent", True)], 120, "the mail that was put off")
        wait_until(lambda: said("worker").count(" succeeded in ") > done_before, 60, "the worker says so")
        ((_, receivers, mail),) = letterbox.received
        assert (receivers, mail["Subject"]) == (["tindrum@shop.example"], "Hold: No gas cylinder is connected")
        assert "looking for due jobs here" not in said("beat-again")
