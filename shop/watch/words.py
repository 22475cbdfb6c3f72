"""What stands in a mail: plain words, readable in any mail program, and never more than one can read."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.core import signing
from django.urls import reverse

from shop import clock
from shop.people.models import Person
from shop.watch.models import Alert, DeliveryKind

#: A mail tells of so many in full, and of so many more in one line each. Beyond that it says how many more there are.
IN_FULL, IN_A_LINE = 40, 160

CAUTION = (
    "The engineer decides. Nothing here replaces the supplier's safety data, the local fire code or a licensed trade."
)

_SALT = "shop.watch.leave"


def address(path: str) -> str:
    """A path of this room as people reach it from outside."""
    return settings.LATHESIDE_ADDRESS.rstrip("/") + path


def leaving_token(person: Person, kind: str) -> str:
    """What lets somebody stop that kind of mail without signing in. It can do nothing else, and needs no row."""
    return signing.dumps([person.pk, kind], salt=_SALT)


def who_leaves(token: str) -> tuple[int, str] | None:
    """The person's id and the kind of mail that a token is for; None for a forged one."""
    try:
        person, kind = signing.loads(token, salt=_SALT)
    except (signing.BadSignature, ValueError, TypeError):
        return None
    return (person, kind) if isinstance(person, int) and kind in DeliveryKind.values else None


def leaving_address(person: Person, kind: str) -> str:
    return address(reverse("watch:leave", args=[leaving_token(person, kind)]))


@dataclass(frozen=True)
class Morning:
    """What a morning mail tells of: new, in full and then in a line each; standing since an earlier mail; and how many
    more there are."""

    in_full: Sequence[Alert]
    also_new: Sequence[Alert]
    standing: Sequence[Alert]
    more: int

    @property
    def count(self) -> int:
        return len(self.in_full) + len(self.also_new) + len(self.standing) + self.more


def morning(person: Person, told: Morning, *, holds: int, room: str) -> tuple[str, str]:
    """Subject and body of a morning mail. holds: how many of all are graded hold."""
    subject = f"{room}: {told.count} to know this morning"
    if holds:
        subject += f", {holds} graded hold"
    parts = [f"Good morning, {person.name}.", "New since your last mail:", *(_in_full(alert) for alert in told.in_full)]
    if told.also_new:
        parts += ["New too:", "\n".join(_in_a_line(alert) for alert in told.also_new)]
    if told.standing:
        parts += ["Still standing:", "\n".join(_in_a_line(alert) for alert in told.standing)]
    if told.more:
        parts.append(f"And {told.more} more than a mail has room for.")
    parts += [f"All of them: {address(reverse('watch:alerts'))}", CAUTION, _foot(person, DeliveryKind.MORNING)]
    return _one_line(subject), "\n\n".join(parts) + "\n"


def at_once(person: Person, alert: Alert, room: str) -> tuple[str, str]:
    """Subject and body of a mail about one alert."""
    parts = [
        _in_full(alert),
        f"Whoever takes it on presses here: {address(alert.get_absolute_url())}",
        CAUTION,
        _foot(person, DeliveryKind.AT_ONCE),
    ]
    return _one_line(f"{room}: hold, {alert.headline}"), "\n\n".join(parts) + "\n"


def _in_full(alert: Alert) -> str:
    lines = [f"[{alert.get_grade_display()}] {alert.headline}", alert.reason, alert.what_to_do]
    lines += [_whose(alert), address(alert.link)]
    return "\n  ".join(line for line in lines if line)


def _in_a_line(alert: Alert) -> str:
    return f"[{alert.get_grade_display()}] {alert.headline} ({_since(alert.opened_at)})"


def _whose(alert: Alert) -> str:
    if alert.taken_by:
        return f"{alert.taken_by.name} looks after it."
    return f"It is {alert.with_person.name}'s turn to look." if alert.with_person else ""


def _since(moment: datetime) -> str:
    return f"since {clock.day_of(moment):%-d %B}"


def _foot(person: Person, kind: DeliveryKind) -> str:
    which = "the morning mail" if kind == DeliveryKind.MORNING else "mails that come at once"
    return f"To get no more of {which}: {leaving_address(person, kind)}"


def _one_line(text: str) -> str:
    return " ".join(text.split())[:200]
