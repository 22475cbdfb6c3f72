"""A wish to send is claimed with a lease, sent, and only then marked: nothing is lost, and doubles are known."""

import smtplib
from dataclasses import replace
from uuid import uuid4

import pytest

from shop import clock
from shop.watch import actions, concerns, sender
from shop.watch.models import Alert, Delivery, DeliveryState, Told
from shop.watch.sweep import sweep
from tests.makers import moment, together
from tests.watch.makers import GAS, Post, with_address

pytestmark = pytest.mark.django_db


@pytest.fixture
def wanted(worries, engineer, at):
    """A hold that an engineer is to be told of at once."""
    with_address(engineer)
    worries.append(GAS)
    with at("2025-03-03 08:00"):
        sweep()
    return Delivery.objects.get()


def test_what_is_sent_is_marked_and_told(wanted, at, mailoutbox):
    with at("2025-03-03 08:01"):
        assert sender.send_due(connection=Post()).sent == 1
    wanted.refresh_from_db()
    assert (wanted.state, wanted.attempts, wanted.doubled) == (DeliveryState.SENT, 1, 0)
    assert Told.objects.get().alert == Alert.objects.get()
    (mail,) = mailoutbox
    assert GAS.headline in mail.subject
    assert mail.subject.startswith("Hold: ")
    assert mail.message()["From"].startswith("Tindrum Street Cutting Room <")


def test_it_can_be_left_by_one_press_and_carries_its_headers(wanted, at, mailoutbox):
    with at("2025-03-03 08:01"):
        sender.send_due(connection=Post())
    headers = mailoutbox[0].message()
    assert headers["Message-ID"] == sender.message_id(wanted)
    assert headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert headers["List-Unsubscribe"].startswith("<http")
    assert headers["Auto-Submitted"] == "auto-generated"


def test_a_dead_mail_server_puts_it_off_longer_each_time_and_at_last_the_owner_is_shown(wanted, at, mailoutbox):
    now, waits = moment("2025-03-03 08:01"), []
    for _ in range(len(sender.WAITS) + 4):  # some fall into quiet hours
        with clock.moved(now):
            sender.send_due(connection=Post(OSError("connection refused")))
        wanted.refresh_from_db()
        waits.append(wanted.not_before - now)
        now = max(now, wanted.not_before)
        if wanted.state != DeliveryState.WANTED:
            break
    assert wanted.attempts == len(sender.WAITS) + 1
    assert wanted.state == DeliveryState.GIVEN_UP
    assert "connection refused" in wanted.trouble
    assert waits[0] < waits[2] < waits[4]
    assert mailoutbox == []
    with clock.moved(now):
        assert next(concerns.concerns(clock.now())).key == "watch:given-up"


def test_an_address_that_the_server_will_never_take_is_given_up_at_once(wanted, engineer, at):
    refused = smtplib.SMTPRecipientsRefused({engineer.email: (550, b"no such mailbox")})
    with at("2025-03-03 08:01"):
        sender.send_due(connection=Post(refused))
    wanted.refresh_from_db()
    assert wanted.state == DeliveryState.GIVEN_UP


def test_an_address_of_two_lines_makes_no_mail_with_a_head_of_its_own(wanted, engineer, owner, at, mailoutbox):
    """However it came into the table: it is given up at once, and the owner is shown."""
    type(engineer).objects.filter(pk=engineer.pk).update(email="a@tindrum.example\r\nBcc: all@tindrum.example")
    with at("2025-03-03 08:01"):
        sender.send_due(connection=Post())
        (worry,) = concerns.concerns(clock.now())
    wanted.refresh_from_db()
    assert (wanted.state, wanted.attempts, mailoutbox) == (DeliveryState.GIVEN_UP, 1, [])
    assert "BadHeaderError" in wanted.trouble
    assert engineer.name in worry.headline


def test_a_passing_refusal_is_tried_again(wanted, engineer, at, mailoutbox):
    busy = smtplib.SMTPRecipientsRefused({engineer.email: (450, b"busy")})
    with at("2025-03-03 08:01"):
        sender.send_due(connection=Post(busy))
    with at("2025-03-03 08:02"):
        sender.send_due(connection=Post())
    assert len(mailoutbox) == 1


def test_the_same_words_go_out_at_every_attempt(wanted, worries, at, mailoutbox):
    with at("2025-03-03 08:01"):
        sender.send_due(connection=Post(OSError()))
    wanted.refresh_from_db()
    before = (wanted.subject, wanted.body)
    worries[:] = []
    with at("2025-03-03 08:02"):
        sweep()
        sender.send_due(connection=Post())
    assert (mailoutbox[0].subject, mailoutbox[0].body) == before


def test_a_sender_that_died_leaves_a_lease_that_runs_out_and_the_double_is_counted(wanted, at, mailoutbox):
    with at("2025-03-03 08:01"):
        assert sender.claim(wanted.pk, uuid4()) is not None
    with at("2025-03-03 08:02"):
        assert sender.send_due(connection=Post()).sent == 0
    with at("2025-03-03 08:05"):
        assert sender.send_due(connection=Post()).sent == 1
    wanted.refresh_from_db()
    assert (wanted.attempts, wanted.doubled, wanted.state) == (2, 1, DeliveryState.SENT)


def test_a_sender_that_was_too_slow_does_not_mark_what_another_has(wanted, at):
    slow = uuid4()
    with at("2025-03-03 08:01"):
        mine = sender.claim(wanted.pk, slow)
    with at("2025-03-03 08:05"):
        sender.claim(wanted.pk, uuid4())
        assert mine is not None
        assert sender.mark_sent(mine, slow) is False
    wanted.refresh_from_db()
    assert wanted.state == DeliveryState.WANTED


@pytest.mark.parametrize("what", ["taken", "gone", "switched off", "no address"])
def test_what_nobody_needs_any_more_is_not_sent(wanted, worries, engineer, at, mailoutbox, what):
    with at("2025-03-03 08:00"):
        if what == "taken":
            actions.take_alert(by=engineer, once=uuid4(), alert=Alert.objects.get())
        elif what == "gone":
            worries.clear()
            sweep()
        elif what == "switched off":
            type(engineer).objects.update(is_active=False)
        else:
            type(engineer).objects.update(email="")
        sender.send_due(connection=Post())
    wanted.refresh_from_db()
    assert (wanted.state, mailoutbox) == (DeliveryState.NOT_NEEDED, [])


@pytest.mark.django_db(transaction=True)
def test_eight_senders_at_one_person_s_holds_tell_each_hold_once(worries, engineer, at, mailoutbox):
    with_address(engineer)
    worries += [replace(GAS, key=f"room:gas:{number}", headline=f"Hold <{number}>") for number in range(60)]
    with at("2025-03-03 08:00"):
        sweep()
        done = together(*(lambda: sender.send_due(connection=Post()) for _ in range(8)))
    assert [one for one in done if isinstance(one, Exception)] == []
    assert Told.objects.count() == 60
    assert sum(mail.body.count("Hold <") for mail in mailoutbox) == 60
    assert 1 <= len(mailoutbox) <= 8
    assert not Delivery.objects.filter(state=DeliveryState.WANTED).exists()
