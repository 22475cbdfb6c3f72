"""Recurring jobs: what runs by itself, how often, and the promise that it runs once a period.

Each app registers its own in its AppConfig.ready(). Whatever ticks (the clock thread of the one server, or Celery's
beat) calls `run_due`; a unique row for each job and period lets one of any number of clocks run it.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from django.db import IntegrityError, transaction

from shop import clock
from shop.jobs.models import JobRun

log = logging.getLogger(__name__)

#: Names the period an aware moment falls in; a new name means that the job is due again.
Period = Callable[[datetime], str]


def each_day(now: datetime) -> str:
    """The day in UTC. For what follows the room's own day, give a period that asks clock.day_of in its zone."""
    return now.astimezone(UTC).date().isoformat()


def each_hour(now: datetime) -> str:
    return now.astimezone(UTC).strftime("%Y-%m-%dT%H")


def each_five_minutes(now: datetime) -> str:
    utc = now.astimezone(UTC)
    return f"{utc:%Y-%m-%dT%H}:{utc.minute // 5 * 5:02}"


def each_ten_minutes(now: datetime) -> str:
    return each_minute(now)[:-1]


def each_minute(now: datetime) -> str:
    return now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M")


@dataclass(frozen=True)
class Job:
    """name: as it is kept in JobRun; period: how often; run: does it, and may give a few words on what came of it.

    `run` opens its own transactions, and is safe to run again: a process may die in the middle of it.
    """

    name: str
    period: Period
    run: Callable[[], str | None]


_jobs: dict[str, Job] = {}


def register(name: str, period: Period, run: Callable[[], str | None]) -> None:
    """Let `run` be called once every `period`. Registering a name again replaces it."""
    _jobs[name] = Job(name, period, run)


def registered() -> list[Job]:
    return list(_jobs.values())


def last_done(name: str) -> JobRun | None:
    """The latest run of a job that went through; None if none did."""
    return JobRun.objects.filter(job=name, outcome__startswith="done").order_by("-started_at").first()


def run_due(now: datetime | None = None) -> list[JobRun]:
    """Run each job whose period has not been claimed yet; give the runs that were made here.

    A job that fails is logged and its run says so; it is due again in its next period, and hides no other job.
    """
    now = now or clock.now()
    return [run for job in registered() if (run := _claim(job, now)) and _carry_out(job, run)]


def run_now(name: str) -> str | None:
    """Run one job outside its periods, and give its words; what it raises is the caller's."""
    return _jobs[name].run()


def _claim(job: Job, now: datetime) -> JobRun | None:
    """The row for this job and period, if this call is the one that made it."""
    period = job.period(now)
    if JobRun.objects.filter(job=job.name, period=period).exists():
        return None  # asked first, so that a tick with nothing due takes no write lock
    try:
        with transaction.atomic():
            return JobRun.objects.create(job=job.name, period=period, started_at=now)
    except IntegrityError:
        return None  # another clock was first


def _carry_out(job: Job, run: JobRun) -> bool:
    try:
        outcome = f"done: {said}" if (said := job.run()) else "done"
    except Exception as fault:
        log.exception("the job %s failed", job.name)
        outcome = f"failed: {type(fault).__name__}: {fault}"
    run.outcome = outcome[: JobRun._meta.get_field("outcome").max_length]
    run.ended_at = clock.now()
    run.save(update_fields=["outcome", "ended_at"])
    return True
