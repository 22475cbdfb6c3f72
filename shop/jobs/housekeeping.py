"""The room's own housekeeping: what is of no more use to anybody is cleared away."""

from datetime import timedelta
from importlib import import_module

from django.conf import settings

from shop import clock
from shop.jobs.models import JobRun

#: How long it can be seen what ran by itself.
KEEP_RUNS = timedelta(days=90)


def clear_ended_sessions() -> None:
    """Remove the sign-ins that have run out."""
    import_module(settings.SESSION_ENGINE).SessionStore.clear_expired()


def forget_old_runs() -> str:
    """Remove runs of jobs older than KEEP_RUNS."""
    count, _ = JobRun.objects.filter(started_at__lt=clock.now() - KEEP_RUNS).delete()
    return f"{count} forgotten"
