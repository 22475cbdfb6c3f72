"""Mail to a real SMTP server that refuses, delays, hangs up after DATA; and senders that are killed in the middle."""

import json
from collections import Counter
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.mail import get_connection

from shop import clock
from shop.watch import sender
from shop.watch.models import Delivery, DeliveryState
from shop.watch.sweep import sweep
from tests.watch.makers import GAS, Worries, only, with_address

pytestmark = [pytest.mark.services, pytest.mark.django_db]


@pytest.fixture
def post(letterbox, settings):
    settings.EMAIL_TIMEOUT = 5
    return lambda: get_connection(
        "django.core.mail.backends.smtp.EmailBackend", host="127.0.0.1", port=letterbox.port, timeout=5
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


def test_a_hundred_kills_lose_no_mail_and_each_double_is_known(letterbox, run_python, tmp_path):
    room = {
        "LATHESIDE_DATA": str(tmp_path),
        "EMAIL_URL": f"smtp://127.0.0.1:{letterbox.port}",
        "DJANGO_SETTINGS_MODULE": "shop.settings",
    }
    run_python(["manage.py", "migrate", "--verbosity", "0"], **room)
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
