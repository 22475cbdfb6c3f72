"""The clock of a room on one machine: a thread of the server that looks every minute for jobs that are due."""

import logging
import threading
import time

from django.db import connections

from shop.jobs import registry

log = logging.getLogger(__name__)

TICK_S = 60.0


def look_once() -> None:
    """Run what is due. One that fails (the disk is full, say) is logged, and the next look tries again."""
    try:
        registry.run_due()
    except Exception:
        log.exception("the clock could not look for jobs that are due")
    finally:
        connections.close_all()  # a minute is long to keep one open for nothing


class Clockwork(threading.Thread):
    """Looks at once and then on every full minute, until `stop`."""

    def __init__(self) -> None:
        super().__init__(name="clockwork", daemon=True)
        self._stopped = threading.Event()

    def run(self) -> None:
        while not self._stopped.is_set():
            look_once()
            self._stopped.wait(TICK_S - time.time() % TICK_S)

    def stop(self) -> None:
        """Tick no more, and wait for the job that is running, if any, for up to ten seconds."""
        self._stopped.set()
        if self.is_alive():
            self.join(timeout=10)
