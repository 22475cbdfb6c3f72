"""One mail in the morning with everything in it: at the person's own hour, once a day, and only with something new."""

from dataclasses import replace
from datetime import time, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo, available_timezones

import pytest
from django.utils import timezone

from shop import clock
from shop.concern import Grade
from shop.morning.concerns import NO_CHECK
from shop.people.fields import measured
from shop.people.queries import the_room
from shop.watch import actions, sender
from shop.watch.line import at_wall, end_of_quiet
from shop.watch.models import Delivery, DeliveryState, Told, Wishes
from shop.watch.morning_mail import want_morning_mails
from shop.watch.sweep import sweep
from tests.makers import moment
from tests.watch.makers import GAS, TALC, Post, with_address

pytestmark = pytest.mark.django_db


def a_minute(at, when):
    """What the clock does in one minute of the room."""
    with at(when):
        sweep()
        want_morning_mails()
        sender.send_due(connection=Post())


def wish(person, **other):
    facts = {
        "morning_mail": True,
        "mail_at": time(7, 30),
        "at_once": True,
        "quiet_from": time(21),
        "quiet_to": time(7),
        "muted": [],
    }
    actions.change_wishes(by=person, once=uuid4(), version=0, **facts | other)


def test_it_comes_at_the_person_s_hour_and_lists_everything(worries, owner, at, mailoutbox):
    with_address(owner)
    wish(owner, at_once=False)
    worries += [TALC]
    a_minute(at, "2025-03-03 07:25")
    assert mailoutbox == []
    a_minute(at, "2025-03-03 07:30")
    (mail,) = mailoutbox
    assert mail.to == [owner.email]
    assert TALC.headline in mail.body
    assert TALC.reason in mail.body
    a_minute(at, "2025-03-03 07:35")
    a_minute(at, "2025-03-03 12:00")
    assert len(mailoutbox) == 1


def test_the_next_day_brings_none_unless_something_is_new_and_then_tells_what_still_stands(
    worries, owner, at, mailoutbox
):
    with_address(owner)
    worries += [TALC]
    a_minute(at, "2025-03-03 07:30")
    a_minute(at, "2025-03-04 07:30")
    assert len(mailoutbox) == 1
    worries += [replace(TALC, key="stock:low:item-9", headline="Wipes are below the minimum")]
    a_minute(at, "2025-03-04 09:00")
    assert len(mailoutbox) == 1, "the morning of that day is over"
    a_minute(at, "2025-03-05 07:30")
    body = mailoutbox[1].body
    assert body.index("Wipes are below") < body.index(TALC.headline)
    assert f"{TALC.headline} (since 3 March)" in body
    assert "Wipes are below the minimum (Talc)\n" in body


def test_a_week_of_standing_still_is_one_mail(worries, owner, at, mailoutbox):
    with_address(owner)
    worries += [TALC]
    a_minute(at, "2025-03-03 07:30")
    worries += [replace(TALC, key="stock:low:item-9")]
    a_minute(at, "2025-03-10 09:12")
    assert len(mailoutbox) == 2


def test_ten_thousand_worries_are_one_mail_that_says_how_many_more(worries, owner, at, mailoutbox):
    with_address(owner)
    worries[:] = [replace(TALC, key=f"stock:low:item-{number}", headline=f"Item {number}") for number in range(10_000)]
    a_minute(at, "2025-03-03 07:30")
    (mail,) = mailoutbox
    assert mail.subject.startswith("Care: Item 0")
    assert mail.subject.endswith(", and 9999 more")
    assert "And 9800 more than a mail has room for." in mail.body
    a_minute(at, "2025-03-04 07:30")
    assert len(mailoutbox) == 1


def test_muted_topics_are_left_out_but_never_a_hold(worries, owner, engineer, at, mailoutbox):
    with_address(owner)
    with_address(engineer)
    wish(owner, muted=["stock", "room"], at_once=False)
    worries += [TALC, GAS]
    a_minute(at, "2025-03-03 07:30")
    (mail,) = [mail for mail in mailoutbox if mail.to == [owner.email]]
    assert GAS.headline in mail.body
    assert TALC.headline not in mail.body


def test_a_name_of_markup_or_several_lines_is_one_line_in_the_subject(worries, owner, at, mailoutbox):
    with_address(owner)
    worries += [replace(GAS, headline="None\r\nBcc: everybody@tindrum.example <b>left</b>")]
    a_minute(at, "2025-03-03 08:00")
    for mail in mailoutbox:
        assert "\n" not in mail.subject
        assert list(mail.message().get_all("Bcc", [])) == []


def test_in_quiet_hours_it_is_noticed_and_sent_after(worries, owner, at, mailoutbox):
    with_address(owner)
    worries += [GAS]
    a_minute(at, "2025-03-03 23:10")
    assert (Delivery.objects.count(), len(mailoutbox)) == (1, 0)
    a_minute(at, "2025-03-04 06:59")
    assert mailoutbox == []
    a_minute(at, "2025-03-04 07:00")
    assert len(mailoutbox) == 1


def test_a_mail_that_cannot_be_sent_is_overtaken_by_the_next_morning_s(worries, owner, at, mailoutbox):
    with_address(owner)
    worries += [TALC]
    with at("2025-03-03 07:30"):
        sweep()
        want_morning_mails()
        sender.send_due(connection=Post(OSError("no route")))
    with at("2025-03-04 07:30"):
        sweep()
        want_morning_mails()
        sender.send_due(connection=Post())
    assert len(mailoutbox) == 1
    states = list(Delivery.objects.order_by("id").values_list("state", flat=True))
    assert sorted(states) == [DeliveryState.NOT_NEEDED, DeliveryState.SENT]


class TestEveryClockChange:
    """A daily 07:30 comes at one moment of each local day, in every zone, across every change of 2024 to 2030."""

    def test_the_hour_falls_once_into_each_local_day(self):
        for name in sorted(available_timezones()):
            zone = ZoneInfo(name)
            with timezone.override(zone):
                day = moment("2024-01-01 12:00").date()
                before = None
                while day.year < 2031:
                    found = at_wall(day, time(7, 30))
                    assert before is None or found > before, (name, day)
                    if _exists(day, zone):
                        assert clock.day_of(found) == day, (name, day)
                    before, day = found, day + timedelta(days=13)
            assert before is not None


def _exists(day, zone):
    """Whether that local day had an 07:30: Samoa and its like have left out whole days, before 2024."""
    from datetime import UTC, datetime

    aware = datetime.combine(day, time(7, 30), tzinfo=zone)
    return aware.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == aware.replace(tzinfo=None)


@pytest.mark.parametrize(
    ("now", "until"),
    [("2025-03-03 21:00", "2025-03-04 07:00"), ("2025-03-03 03:00", "2025-03-03 07:00"), ("2025-03-03 12:00", None)],
)
def test_quiet_hours_end_on_the_wall_clock(room_row, now, until):
    assert end_of_quiet(Wishes(), moment(now)) == moment(until or now)


def test_a_grade_told_is_not_told_again_as_new_when_it_grows_lighter(worries, owner, at, mailoutbox):
    with_address(owner)
    worries += [replace(TALC, grade=Grade.CARE)]
    a_minute(at, "2025-03-03 07:30")
    worries.grade(TALC.key, Grade.NOTE)
    a_minute(at, "2025-03-03 12:00")
    a_minute(at, "2025-03-04 07:30")
    assert len(mailoutbox) == 1


def test_the_worst_comes_first_also_where_it_was_told_at_once(worries, engineer, at, mailoutbox):
    with_address(engineer)
    worries += [TALC, GAS]
    a_minute(at, "2025-03-03 07:05")
    a_minute(at, "2025-03-03 07:30")
    at_once, morning = mailoutbox
    assert at_once.subject == f"Hold: {GAS.headline}"
    assert morning.subject == f"Hold: {GAS.headline}, and 1 more"
    assert at_once.body.startswith(
        f"HOLD: {GAS.headline} (Nitrogen)\n  {GAS.what_to_do}\n  http://127.0.0.1:8000/room/\n"
    )
    assert morning.body.startswith(f"HOLD: {GAS.headline} (Nitrogen) (since 3 March)\n  {GAS.what_to_do}\n")
    assert morning.body.index("CARE: ") > morning.body.index("HOLD: ")


def test_notes_are_a_line_each_with_what_to_do_and_where(worries, owner, at, mailoutbox):
    with_address(owner)
    worries += [replace(TALC, grade=Grade.NOTE, what_to_do="Order some. Then wait.")]
    a_minute(at, "2025-03-03 07:30")
    line = f"To know:\n- {TALC.headline}. Order some.\n  http://127.0.0.1:8000/stock/\n"
    assert line in mailoutbox[0].body


def test_it_says_whose_turn_it_is_as_the_reader_would(worries, owner, engineer, at, mailoutbox):
    with_address(owner)
    with_address(engineer)
    worries += [TALC]
    a_minute(at, "2025-03-03 07:30")
    said = {mail.to[0]: mail.body for mail in mailoutbox}
    assert "It is your turn to look." in said[engineer.email]
    assert f"It is {engineer.name}'s turn to look." in said[owner.email]


def test_each_reads_it_in_their_own_units(worries, owner, engineer, at, mailoutbox):
    """The room's own are bar and litres; its texts stand in them."""
    type(owner).objects.filter(pk=owner.pk).update(pressure_unit="psi", liquid_unit="gal")
    for person in (owner, engineer):
        person.refresh_from_db()
        with_address(person)
    room = the_room()
    gauge, left = measured("pressure", 50.0, room), measured("liquid", 2505, room)
    worries += [replace(TALC, headline=f"{gauge.text} left", reason=f"{left.text} of it.", quantities=(gauge, left))]
    a_minute(at, "2025-03-03 07:30")
    said = {mail.to[0]: mail for mail in mailoutbox}
    assert said[engineer.email].subject == "Care: 50 bar left"
    assert "2.505\u00a0l of it." in said[engineer.email].body
    assert said[owner.email].subject == "Care: 725 psi left"
    assert "0.662\u00a0US gal of it." in said[owner.email].body
    assert "bar" not in said[owner.email].body


def test_that_there_is_no_check_yet_is_told_but_writes_to_nobody_by_itself(worries, owner, at, mailoutbox):
    """It is true on every morning, also where nobody comes in."""
    with_address(owner)
    no_check = replace(TALC, key=NO_CHECK, headline="No check yet")
    worries += [no_check]
    a_minute(at, "2025-03-03 07:30")
    assert mailoutbox == []
    worries += [TALC]
    a_minute(at, "2025-03-04 07:30")
    (mail,) = mailoutbox
    assert no_check.headline in mail.body


def test_a_hold_that_comes_up_with_the_morning_mail_stands_in_it_and_comes_once(worries, engineer, at, mailoutbox):
    with_address(engineer)
    worries += [TALC, GAS]
    a_minute(at, "2025-03-03 07:30")
    (mail,) = mailoutbox
    assert mail.subject == f"Hold: {GAS.headline}, and 1 more"
    assert Delivery.objects.get(kind="at_once").trouble == "it stands in the morning mail, which goes now"
    a_minute(at, "2025-03-03 07:35")
    a_minute(at, "2025-03-04 07:30")
    assert len(mailoutbox) == 1


def test_holds_that_come_up_together_are_one_mail_and_each_is_told(worries, engineer, at, mailoutbox):
    with_address(engineer)
    worries += [replace(GAS, key=f"room:gas:{number}", headline=f"Hold {number}") for number in range(30)]
    a_minute(at, "2025-03-03 10:00")
    (mail,) = mailoutbox
    assert mail.subject == "Hold: Hold 0, and 29 more"
    assert mail.body.count("HOLD: ") == 12
    assert all(f"Hold {number} (Nitrogen)" in mail.body for number in range(30))
    assert "/watch/alerts/\n" in mail.body
    assert Told.objects.filter(person=engineer).count() == 30
    a_minute(at, "2025-03-03 10:05")
    assert len(mailoutbox) == 1


def test_a_night_s_holds_are_one_mail_when_the_quiet_hours_end(worries, engineer, at, mailoutbox):
    with_address(engineer)
    for hour in ("23:00", "23:30"):
        worries += [replace(GAS, key=f"room:gas:{hour}", headline=f"Since {hour}")]
        a_minute(at, f"2025-03-03 {hour}")
    a_minute(at, "2025-03-04 07:00")
    (mail,) = mailoutbox
    assert "Since 23:00" in mail.body
    assert "Since 23:30" in mail.body
