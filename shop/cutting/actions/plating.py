"""What becomes of good masters: they go to plating, arrive and are reported on, or are kept back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from shop import clock
from shop.cutting import rules
from shop.cutting.actions.bookings import finish_if_cut, reopen_if_uncut
from shop.cutting.actions.bookings import locked as locked_booking
from shop.cutting.models import Booking, EarlierReport, Master, Parcel, Report, Withdrawal
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Refused


@action(roles=HANDS)
def send_masters(
    *,
    by: Person,
    masters: Iterable[Master],
    sent_to: str,
    sent_with: str,
    at: datetime | None = None,
    note: str = "",
) -> Parcel:
    """Send masters to plating, in one parcel.

    Refuses none at all, one that went already or was kept back, and a time before one of them was cut.
    """
    at = happened_at(at)
    waiting = _waiting(masters)
    if last := max((one.side.at for one in waiting if one.side.at > at), default=None):
        raise Refused(f"One of them was only cut at {rules.clock_words(last)}. Give a time after that.", field="at")
    parcel = Parcel.objects.create(
        sent_to=words(sent_to, field="sent_to", longest=120, needed=True),
        sent_with=words(sent_with, field="sent_with", longest=120, needed=True),
        sent_at=at,
        sent_by=by,
        note=words(note, field="note", longest=300),
    )
    Master.objects.filter(pk__in=[one.pk for one in waiting]).update(parcel=parcel)
    return parcel


@action(roles=HANDS)
def keep_masters_back(*, by: Person, masters: Iterable[Master], why: str) -> Master:
    """Say that masters do not go to plating, and why. Gives the last of them."""
    why = words(why, field="why", longest=300, needed=True)
    keys = [one.pk for one in _waiting(masters)]
    Master.objects.filter(pk__in=keys).update(kept_at=clock.now(), kept_by=by, kept_why=why)
    return Master.objects.select_related("side").get(pk=keys[-1])


@action(roles=HANDS)
def send_after_all(*, by: Person, master: Master) -> Master:
    """Let a master that was kept back wait to be sent again. Refuses one that is not kept back."""
    if not Master.objects.filter(pk=master.pk, kept_at__isnull=False).update(kept_at=None, kept_by=None, kept_why=""):
        raise Refused("It is not kept back.")
    return Master.objects.select_related("side").get(pk=master.pk)


@action(roles=HANDS)
def note_arrival(*, by: Person, parcel: Parcel, at: datetime | None = None) -> Parcel:
    """Say that a parcel arrived. Refuses one that has, and a time before it was sent."""
    at = happened_at(at)
    held = _locked(parcel)
    if held.arrived_at is not None:
        raise Refused(f"It arrived at {rules.clock_words(held.arrived_at)} already.")
    if at < held.sent_at:
        raise Refused(f"It was only sent at {rules.clock_words(held.sent_at)}.", field="at")
    held.arrived_at, held.arrived_by = at, by
    held.save(update_fields=["arrived_at", "arrived_by"])
    return held


@dataclass(frozen=True)
class Said:
    """What the platers said of one master, a Report, and what was wrong with it."""

    master: Master
    report: str
    wrong: str = ""


def report_field(master: Master) -> str:
    """The form field that a refusal about a master's report belongs to; what was wrong has `_wrong` behind it."""
    return f"master{master.pk}"


@action(roles=HANDS)
def report_masters(*, by: Person, parcel: Parcel, said: Iterable[Said], at: datetime | None = None) -> Parcel:
    """Write down what the platers said of masters in a parcel; one without a word stays without.

    A parcel that was not noted as arrived has arrived with that. What stands already is not written again, what is put
    right is kept as an earlier report. A side whose master was refused is to be cut again: its booking, if that was
    finished, is open; where the refusal is put right, it is finished again. Refuses a report that is not fine without
    what was wrong, a master of another parcel or of a side that was withdrawn, and a time before it was sent.
    """
    at = happened_at(at)
    said = [one for one in said if one.report]
    bookings = _bookings_of(one.master for one in said)
    held = _locked(parcel)
    if at < held.sent_at:
        raise Refused(f"It was only sent at {rules.clock_words(held.sent_at)}.", field="at")
    theirs = {master.pk: master for master in held.masters.select_for_update()}
    if not said:
        raise Refused("Say of at least one what was reported.")
    changed = [master for one in said if (master := _told(one, theirs.get(one.master.pk), at=at, by=by))]
    if not changed:
        raise Refused("All of that stands already.")
    Master.objects.bulk_update(changed, ["report", "wrong", "reported_at", "reported_by"])
    if held.arrived_at is None:
        held.arrived_at, held.arrived_by = at, by
        held.save(update_fields=["arrived_at", "arrived_by"])
    for booking in bookings:
        finish_if_cut(booking)
        reopen_if_uncut(booking)
    return held


def _bookings_of(masters: Iterable[Master]) -> list[Booking]:
    """Their bookings, held before their parcel is: in the order in which everything else holds them."""
    keys = Master.objects.filter(pk__in=[one.pk for one in masters]).values_list("side__wanted__booking", flat=True)
    return [locked_booking(booking) for booking in Booking.objects.filter(pk__in=list(keys)).order_by("pk")]


def _told(one: Said, master: Master | None, *, at: datetime, by: Person) -> Master | None:
    """The master with what was said of it, not saved yet; None where that stands already."""
    field = report_field(one.master)
    if one.report not in Report.values or master is None:
        raise Refused("Say what was reported of it.", field=field)
    if Withdrawal.objects.filter(side=master.side_id).exists():
        raise Refused("Its side was withdrawn: there is no such master.", field=field)
    wrong = words(one.wrong, field=f"{field}_wrong", longest=300, needed=one.report != Report.FINE)
    if one.report == Report.FINE != master.report and wrong == master.wrong:
        wrong = ""  # left in the box from the report that is put right: that was wrong with another
    if (one.report, wrong) == (master.report, master.wrong):
        return None
    if master.report:
        assert master.reported_at is not None
        assert master.reported_by is not None
        EarlierReport.objects.create(
            master=master,
            report=master.report,
            wrong=master.wrong,
            reported_at=master.reported_at,
            reported_by=master.reported_by,
        )
    master.report, master.wrong = one.report, wrong
    master.reported_at, master.reported_by = at, by
    return master


def _locked(parcel: Parcel) -> Parcel:
    return Parcel.objects.select_for_update(of=("self",)).get(pk=parcel.pk)


def _waiting(masters: Iterable[Master]) -> list[Master]:
    """The masters, if each of them waits; refuses none at all."""
    keys = sorted({master.pk for master in masters})
    if not keys:
        raise Refused("Choose at least one master.", field="masters")
    held = list(
        Master.objects.select_for_update(of=("self",)).select_related("side__wanted__booking").filter(pk__in=keys)
    )
    for one in held:
        if one.parcel_id is not None or one.kept_at is not None:
            state = "was kept back" if one.parcel_id is None else "went to plating"
            raise Refused(f"{one.side.wanted or one.side} {state} already.", field="masters")
    if len(held) < len(keys):
        raise Refused("One of them was withdrawn meanwhile. Look at the list again.", field="masters")
    return held
