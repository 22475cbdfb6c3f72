"""Mail to a real SMTP server that refuses, delays, hangs up after DATA; and senders that are killed in the middle."""

import json
import shutil
import time
from collections import Counter
from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.mail import get_connection

from shop import clock
from shop.watch import sender
from shop.watch.models import Delivery, DeliveryState
from shop.watch.morning_mail import want_morning_mails
from shop.watch.sweep import sweep
from tests.makers import together
from tests.watch.makers import GAS, TALC, Worries, only, wishes_to_send, with_address

pytestmark = [pytest.mark.services, pytest.mark.django_db]


@pytest.fixture
def post(letterbox, settings):
    settings.EMAIL_TIMEOUT = 20
    return lambda: get_connection(
        "django.core.mail.backends.smtp.EmailBackend", host="127.0.0.1", port=letterbox.port, timeout=20
    )


@pytest.fixture
def wanted(engineer):
    with_address(engineer)
    noon = clock.now().replace(hour=12)
    with only(Worries([GAS])), clock.moved(noon):
        sweep()
        yield Delivery.objects.get()


def rounds(post, count):
    for _ in range(count):
        sender.send_due(connection=post())
        Delivery.objects.filter(state=DeliveryState.WANTED).update(not_before=clock.now() - timedelta(seconds=1))


def test_one_that_is_taken_arrives_as_it_was_written(wanted, post, letterbox):
    rounds(post, 1)
    ((_, receivers, message),) = letterbox.received
    assert receivers == [wanted.person.email]
    assert message["Message-ID"] == sender.message_id(wanted)
    assert GAS.headline in message.get_payload(decode=True).decode()


@pytest.mark.parametrize("script", [["refuse"], ["refuse", "refuse", "refuse"], ["slow"]])
def test_a_server_that_is_busy_or_slow_gets_it_later_once(wanted, post, letterbox, script):
    letterbox.script += script
    rounds(post, len(script) + 1)
    wanted.refresh_from_db()
    assert (wanted.state, wanted.doubled, len(letterbox.received)) == (DeliveryState.SENT, 0, 1)


def test_a_server_that_hangs_up_after_taking_it_gets_it_twice_and_that_is_counted(wanted, post, letterbox):
    letterbox.script += ["drop"]
    rounds(post, 2)
    wanted.refresh_from_db()
    assert (wanted.state, wanted.doubled) == (DeliveryState.SENT, 1)
    assert letterbox.ids() == [sender.message_id(wanted)] * 2


def test_a_server_that_will_never_take_it_is_not_asked_again(wanted, post, letterbox):
    letterbox.script += ["never"]
    rounds(post, 3)
    wanted.refresh_from_db()
    assert (wanted.state, letterbox.received) == (DeliveryState.GIVEN_UP, [])


def test_no_server_at_all_loses_nothing(wanted, post, letterbox):
    dead = get_connection("django.core.mail.backends.smtp.EmailBackend", host="127.0.0.1", port=1, timeout=2)
    assert sender.send_due(connection=dead).put_off == 1
    Delivery.objects.update(not_before=clock.now())
    rounds(post, 1)
    assert len(letterbox.received) == 1


def test_a_claim_that_was_put_off_by_quiet_hours_is_no_attempt(wanted):
    midnight = clock.now().replace(hour=2) + timedelta(days=1)
    with clock.moved(midnight):
        assert sender.claim(wanted.pk, uuid4()) is None
    wanted.refresh_from_db()
    assert (wanted.attempts, wanted.lease) == (0, None)


def test_a_machine_off_for_a_week_sends_one_mail_a_person_not_seven_and_no_storm(engineer, owner, at, post, letterbox):
    """In that week ten holds and thirty lesser worries came up; each was due to be told on a day of its own."""
    with_address(engineer)
    with_address(owner)
    worries = Worries([TALC])

    def a_tick(when):
        """What the clock does in a minute; it catches up on nothing else."""
        with at(when):
            sweep()
            want_morning_mails()
            sender.send_due(connection=post())

    with only(worries):
        a_tick("2025-03-03 07:30")
        assert sorted(receivers for _, receivers, _ in letterbox.received) == [[engineer.email], [owner.email]]
        letterbox.received.clear()
        worries += [replace(GAS, key=f"room:gas:{number}", headline=f"Hold {number}") for number in range(10)]
        worries += [replace(TALC, key=f"stock:low:item-{number}") for number in range(100, 130)]
        for minute in ("09:12", "09:13", "09:15", "09:20", "09:40"):
            a_tick(f"2025-03-10 {minute}")
    assert sorted(receivers for _, receivers, _ in letterbox.received) == [[engineer.email], [owner.email]]
    for _, _, mail in letterbox.received:
        assert mail["Subject"] == "Hold: Hold 0, and 40 more"
        body = mail.get_payload(decode=True).decode()
        assert [f"Hold {number} (Nitrogen)" in body for number in range(10)] == [True] * 10
    assert Delivery.objects.filter(kind="morning", state=DeliveryState.SENT).count() == 4


@pytest.mark.django_db(transaction=True)
def test_eight_senders_and_a_thousand_deliveries_send_each_once(room_row, post, letterbox):
    wanted = wishes_to_send(1000)
    began = time.monotonic()
    done = together(*(lambda: sender.send_due(most=1000, connection=post()) for _ in range(8)))
    took_s = time.monotonic() - began
    assert [one for one in done if isinstance(one, Exception)] == []
    assert sum(one.sent for one in done) == 1000
    assert set(Delivery.objects.values_list("state", "attempts", "doubled")) == {(DeliveryState.SENT, 1, 0)}
    assert Counter(letterbox.ids()) == Counter(sender.message_id(one) for one in wanted)
    assert {receivers[0] for _, receivers, _ in letterbox.received} == {one.person.email for one in wanted}
    each = ", ".join(str(one.sent) for one in done)
    print(f"1,000 deliveries by 8 senders in {took_s:.1f} s: {each}")


def test_a_hundred_kills_lose_no_mail_and_each_double_is_known(letterbox, run_python, tmp_path, migrated):
    room = {
        "LATHESIDE_DATA": str(tmp_path),
        "EMAIL_URL": f"smtp://127.0.0.1:{letterbox.port}",
        "DJANGO_SETTINGS_MODULE": "shop.settings",
    }
    shutil.copy(migrated, tmp_path)
    letterbox.pause_s = 0.02  # so that some are killed between the server's taking it and its saying so
    said = run_python(["-m", "tests.services.mail_kills", "100", "200"], **room)
    told = json.loads(said.strip().splitlines()[-1])
    arrived = Counter(letterbox.ids())
    assert (told["kills"], told["deliveries"], told["unsent"]) == (100, 200, 0)
    assert len(arrived) == 200, "each came"
    twice = {one for one, times in arrived.items() if times > 1}
    assert told["perhaps_twice"], "no kill came in the middle of a mail: the test would prove nothing"
    assert twice <= set(told["perhaps_twice"])
    print(f"{len(twice)} of 200 came twice, {len(told['perhaps_twice'])} may have")
