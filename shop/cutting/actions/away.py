"""A stylus that goes away for re-lapping, and what comes back."""

from datetime import date, datetime
from decimal import Decimal

from shop import clock
from shop.cutting import rules
from shop.cutting.actions.styli import (
    after_it_was_away,
    away_now,
    end_life,
    given_up,
    locked,
    not_away,
    not_retired,
    retired,
)
from shop.cutting.models import Away, CameBack, EndReason, Stylus
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Refused
from shop.stock.rules import cost
from shop.wording import in_full


@action(roles=HANDS)
def send_stylus_away(
    *,
    by: Person,
    stylus: Stylus,
    sent_to: str,
    reason: str = "",
    at: datetime | None = None,
    back_due: date | None = None,
    note: str = "",
) -> Away:
    """Send a stylus away for re-lapping: out of its head if it is in one, its open life ended for `reason`.

    Refuses one that is retired, lost or away already, and a time before its last side or before it last came back.
    """
    at = happened_at(at)
    held = locked(stylus)
    not_retired(held)
    not_away(held)
    if reason == EndReason.LOST:
        raise Refused("What is lost cannot be sent: retire it.", field="reason")
    after_it_was_away(held, at)
    if clock.day_of(at) < held.received_on:
        raise Refused(f"{held} only came in on {in_full(held.received_on)}. Give a time since then.", field="at")
    if back_due is not None and back_due < clock.day_of(at):
        raise Refused("It cannot be due back before it went.", field="back_due")
    is_open = held.lives.filter(ended_at__isnull=True).exists()
    if is_open and reason not in EndReason.values:
        raise Refused("Say why this edge has come to its end.", field="reason")
    note = words(note, field="note", longest=300)
    return Away.objects.create(
        stylus=held,
        sent_to=words(sent_to, field="sent_to", longest=120, needed=True),
        sent_at=at,
        sent_by=by,
        back_due=back_due,
        note=note,
        ended=end_life(held, at=at, by=by, reason=reason, note=note, off_because="sent away"),
    )


@action(roles=HANDS)
def take_stylus_back(
    *,
    by: Person,
    stylus: Stylus,
    came_back: str,
    at: datetime | None = None,
    price: Decimal | None = None,
    note: str = "",
) -> Away:
    """Say what came back: a fresh edge, whose life begins when it is fitted; the stylus as it went, whose life goes on;
    or nothing, and it is retired as lost.

    price: what the re-lapping cost. Refuses one that is not away, and a time before it went.
    """
    at = happened_at(at)
    held = locked(stylus)
    away = away_now(held)
    if away is None:
        raise Refused(f"{held} is not away.")
    if came_back not in CameBack.values:
        raise Refused("Say what came back.", field="came_back")
    if at < away.sent_at:
        raise Refused(f"It only went at {rules.clock_words(away.sent_at)}.", field="at")
    note = words(note, field="note", longest=300)
    if came_back == CameBack.NEVER:
        given_up(away, at=at, by=by, note=note)
        retired(held, at=at, by=by, reason=EndReason.LOST)
        return away
    away.back_at, away.back_by, away.came_back, away.back_note = at, by, came_back, note
    away.price = cost(price, field="price")
    away.save(update_fields=["back_at", "back_by", "came_back", "back_note", "price"])
    if came_back == CameBack.AS_SENT and away.ended is not None:
        life = away.ended
        life.ended_at, life.end_reason, life.end_note = None, "", ""
        life.save(update_fields=["ended_at", "end_reason", "end_note"])
    return away
