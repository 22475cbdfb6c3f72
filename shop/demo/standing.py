"""Let a room be served as it stood at one moment, for pictures and browser tests that come out alike on every day."""

from collections.abc import Callable
from datetime import datetime, timedelta
from time import monotonic
from typing import Any

from shop import clock

Application = Callable[[dict[str, Any], Callable[..., Any]], Any]


def standing(application: Application, at: datetime, *, ticking: bool = True) -> Application:
    """The WSGI application, to which it is `at` (aware) from now on; the time goes on from there unless told not to."""
    began = monotonic()

    def moved(environ: dict[str, Any], start_response: Callable[..., Any]) -> Any:
        since = timedelta(seconds=monotonic() - began) if ticking else timedelta()
        with clock.moved(at + since):
            return application(environ, start_response)

    return moved
