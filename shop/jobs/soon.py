"""Running a job now, for somebody who waits for it, rather than at its next minute."""

import logging
import threading

from django.conf import settings
from django.db import connections, transaction

from shop.jobs import registry

log = logging.getLogger(__name__)


def soon(name: str) -> None:
    """Run the registered job in the background, once what is being written is kept.

    With Redis a Celery worker runs it; without, or while it does not answer, a thread of this server. Should either be
    stopped in the middle, the job's own period has it run again.
    """
    transaction.on_commit(lambda: _start(name))


def _start(name: str) -> None:
    if not _asked_a_worker(name):
        threading.Thread(target=_in_thread, args=[name], name=f"soon: {name}", daemon=True).start()


def _asked_a_worker(name: str) -> bool:
    if not settings.REDIS_URL:
        return False
    from kombu.exceptions import OperationalError

    from shop.jobs.tasks import run_one

    try:
        run_one.delay(name)
    except OperationalError as trouble:
        log.warning("the broker does not answer, so %s runs here: %s", name, trouble)
        return False
    return True


def _in_thread(name: str) -> None:
    try:
        registry.run_now(name)
    except Exception:
        log.exception("the job %s failed", name)
    finally:
        connections.close_all()
