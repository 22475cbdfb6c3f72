"""What the watch does by itself, as recurring jobs: each safe to run at any time, and twice."""

from collections.abc import Callable
from functools import wraps

from shop import clock
from shop.people.queries import the_room
from shop.watch import feed, morning_mail, sender, sweep


def _on_the_room_s_clock(job: Callable[[], str]) -> Callable[[], str]:
    @wraps(job)
    def run() -> str:
        with clock.in_zone(the_room().zone):
            return job()

    return run


@_on_the_room_s_clock
def sweep_the_room() -> str:
    return str(sweep.sweep())


@_on_the_room_s_clock
def want_morning_mails() -> str:
    return f"{morning_mail.want_morning_mails()} wanted"


@_on_the_room_s_clock
def send_what_is_due() -> str:
    return str(sender.send_due())


@_on_the_room_s_clock
def bring_calendar_up_to_date() -> str:
    return f"{feed.refresh()} changed"
