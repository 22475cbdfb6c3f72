"""What stands in a mail: plain words, readable in any mail program, and never more than one can read."""

from collections.abc import Container, Sequence
from dataclasses import dataclass
from email.utils import formataddr, parseaddr

from django.conf import settings
from django.core import signing
from django.urls import reverse

from shop import clock
from shop.concern import Grade
from shop.people.fields import retold
from shop.people.models import Person
from shop.watch.models import Alert, DeliveryKind

#: A mail tells of so many in full, and of so many altogether. Beyond that it says how many more there are.
IN_FULL, IN_ALL = 12, 200

#: Over those that are told in a line each.
_HEADINGS = {Grade.HOLD: "More to hold for", Grade.CARE: "More to take care of", Grade.NOTE: "To know"}

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
    """What a morning mail tells of: `alerts` in the order in which they are read, gravest first and what is new before
    what was told; new: the ids of those that are; count: how many stand in all, also those there was no room for."""

    alerts: Sequence[Alert]
    new: Container[int]
    count: int


def morning(person: Person, told: Morning) -> tuple[str, str]:
    """Subject and body of a morning mail: the worst first, with what to do about it; notes in a line each.

    Told in full are holds, however often they were told, and cares that are new.
    """
    full = [one for one in told.alerts if one.is_hold or (one.grade == Grade.CARE and one.pk in told.new)][:IN_FULL]
    shown = {one.pk for one in full}
    parts = [_in_full(one, person, told.new) for one in full]
    rest = [one for one in told.alerts if one.pk not in shown]
    for grade, heading in _HEADINGS.items():
        if lines := [_in_a_line(one, person, told.new) for one in rest if one.grade == grade]:
            parts.append("\n".join([f"{heading}:", *lines]))
    if more := told.count - len(told.alerts):
        parts.append(f"And {more} more than a mail has room for.")
    parts += [f"All of it on one page: {address(reverse('watch:alerts'))}", _foot(person, DeliveryKind.MORNING)]
    return _subject(told.alerts[0], person, told.count - 1), "\n\n".join(parts) + "\n"


def at_once(person: Person, alerts: Sequence[Alert]) -> tuple[str, str]:
    """Subject and body of a mail about one hold, or about several that came up together."""
    new = {alert.pk for alert in alerts}
    parts = [_in_full(alert, person, new) for alert in alerts[:IN_FULL]]
    parts += ["\n".join(_in_a_line(alert, person, new) for alert in alerts[IN_FULL:IN_ALL])] if alerts[IN_FULL:] else []
    if (more := len(alerts) - IN_ALL) > 0:
        parts.append(f"And {more} more than a mail has room for.")
    if len(alerts) == 1:
        parts.append(f"Take it on, so that it goes to nobody else: {address(alerts[0].get_absolute_url())}")
    else:
        parts.append(f"Take on what you see to, so that it goes to nobody else: {address(reverse('watch:alerts'))}")
    parts.append(_foot(person, DeliveryKind.AT_ONCE))
    return _subject(alerts[0], person, len(alerts) - 1), "\n\n".join(parts) + "\n"


def _subject(worst: Alert, person: Person, more: int) -> str:
    """The worst of it: a phone shows little more than its first words."""
    others = f", and {more} more" if more else ""
    said = _one_line(f"{worst.get_grade_display().capitalize()}: {_said(worst, 'headline', person)}")
    return said[: 200 - len(others)] + others


def _in_full(alert: Alert, person: Person, new: Container[int]) -> str:
    """What it is, what to do, where, and why."""
    lines = [f"{alert.get_grade_display().upper()}: {_named(alert, person)}{_since(alert, new)}"]
    lines += [_said(alert, "what_to_do", person), address(alert.link)]
    lines.append(" ".join(part for part in (_said(alert, "reason", person), _whose(alert, person)) if part))
    return "\n  ".join(line for line in lines if line)


def _in_a_line(alert: Alert, person: Person, new: Container[int]) -> str:
    """What it is and what to do, and where."""
    act, _, more = _said(alert, "what_to_do", person).partition(". ")
    told = f"- {_named(alert, person)}{_since(alert, new)}. {act}{'.' if more else ''}"
    return f"{told}\n  {address(alert.link)}"


def _named(alert: Alert, person: Person) -> str:
    """Its headline on one line, and what it is about where that is not said in it."""
    headline, subject = _one_line(_said(alert, "headline", person)), _one_line(alert.subject)
    is_said = subject.casefold() in headline.casefold() or subject.casefold() == alert.get_grade_display()
    return headline if is_said or not subject else f"{headline} ({subject})"


def _said(alert: Alert, part: str, person: Person) -> str:
    """One of its texts, in the person's units."""
    return retold(getattr(alert, part), alert.quantities, person)


def _whose(alert: Alert, person: Person) -> str:
    if alert.taken_by:
        return "You look after it." if alert.taken_by == person else f"{alert.taken_by.name} looks after it."
    if alert.with_person:
        turn = "your" if alert.with_person == person else f"{alert.with_person.name}'s"
        return f"It is {turn} turn to look."
    return ""


def _since(alert: Alert, new: Container[int]) -> str:
    """Nothing of what is new; since when of what was told before."""
    return "" if alert.pk in new else f" (since {clock.day_of(alert.opened_at):%-d %B})"


def _foot(person: Person, kind: DeliveryKind) -> str:
    which = "this morning mail" if kind == DeliveryKind.MORNING else "mails that come at once"
    return f"{CAUTION}\n\nNo more of {which}: {leaving_address(person, kind)}"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def from_address(room: str) -> str:
    """Whom a mail is from: the room's name before the address, so that the subject has room for the worst."""
    return formataddr((_one_line(room), parseaddr(settings.DEFAULT_FROM_EMAIL)[1]))
