"""The pages of cutting: who may open them, and how many queries they take."""

from uuid import uuid4

import pytest
from django.urls import reverse

from shop.cutting import actions
from shop.cutting.models import Booking, Fitting, Side, Stylus
from tests.cutting.makers import address, cut, make_booking, make_stylus, once, text

pytestmark = pytest.mark.django_db


READING = (
    "sides",
    "side",
    "bookings",
    "booking",
    "plan-side",
    "styli",
    "stylus",
    "stylus-kinds",
    "reject-reasons",
    "lathes",
)
WRITING = {
    "log-side": "assistant",
    "withdraw-side": "assistant",
    "add-booking": "assistant",
    "change-booking": "assistant",
    "finish-booking": "assistant",
    "reopen-booking": "assistant",
    "cancel-booking": "engineer",
    "add-stylus": "assistant",
    "fit-stylus": "assistant",
    "take-off-stylus": "assistant",
    "look-over-stylus": "assistant",
    "retire-stylus": "assistant",
    "reinstate-stylus": "engineer",
    "add-stylus-kind": "engineer",
    "change-stylus-kind": "engineer",
    "add-reject-reason": "engineer",
    "change-reject-reason": "engineer",
    "add-lathe": "engineer",
    "change-lathe": "engineer",
    "change-limits": "engineer",
}


@pytest.fixture
def addresses(bench):
    booking = make_booking(bench.engineer)
    side = cut(bench, wanted=booking.wanted.first())
    keys = {
        "side": side.pk,
        "booking": booking.pk,
        "stylus": bench.stylus.pk,
        "stylus-kind": bench.kind.pk,
        "reject-reason": bench.reason.pk,
        "lathe": bench.lathe.pk,
    }

    def of(name):
        about = name.partition("-")[2] if "-" in name else name
        one = {"off-stylus": "stylus", "over-stylus": "stylus"}.get(about, about)
        takes = name not in ("log-side", "plan-side", "change-limits") and not name.startswith("add-")
        return address(name, keys[one]) if takes and one in keys else address(name)

    return {name: of(name) for name in (*READING, *WRITING)}


def test_every_page_opens_for_an_engineer(addresses, client_of, engineer):
    client = client_of(engineer)
    for name, where in addresses.items():
        answer = client.get(where)
        assert answer.status_code == 200, name
        assert text(answer).count("<h1") == 1, name
        assert "style=" not in text(answer), name
        assert "Error:" not in text(answer), name


def test_a_visitor_reads_everything_and_writes_nothing(addresses, client_of, visitor):
    client = client_of(visitor)
    for name in READING:
        page = text(client.get(addresses[name]))
        for hidden in WRITING:
            assert f'href="{addresses[hidden]}"' not in page, (name, hidden)
    before = Side.objects.count(), Booking.objects.count(), Fitting.objects.count()
    for name in WRITING:
        assert client.get(addresses[name]).status_code == 403, name
        assert client.post(addresses[name], {"once": uuid4()}).status_code == 403, name
    assert (Side.objects.count(), Booking.objects.count(), Fitting.objects.count()) == before


def test_an_assistant_is_kept_from_what_is_for_engineers(addresses, client_of, assistant):
    client = client_of(assistant)
    for name, least in WRITING.items():
        expected = 403 if least == "engineer" or name == "withdraw-side" else 200
        assert client.get(addresses[name]).status_code == expected, name


def test_a_stranger_is_sent_to_sign_in(addresses, client):
    for name, where in addresses.items():
        for answer in (client.get(where), client.post(where)):
            assert answer.status_code == 302, name
            assert reverse("people:sign-in") in answer.url


def test_wrong_methods_are_refused(addresses, client_of, engineer):
    client = client_of(engineer)
    for name in READING:
        assert client.post(addresses[name]).status_code == 405, name
    for name in WRITING:
        assert client.put(addresses[name]).status_code == 405, name
        assert client.delete(addresses[name]).status_code == 405, name


def test_a_press_without_a_token_saves_nothing(addresses, client_of, engineer):
    client = client_of(engineer)
    for name in WRITING:
        answer = client.post(addresses[name], {"reason": "worn", "name": "X", "note": ""})
        assert answer.status_code == 422, name
    assert Stylus.objects.get().retired_at is None


def test_what_is_not_there_is_not_found(client_of, engineer, bench):
    client = client_of(engineer)
    for name in ("side", "booking", "stylus", "withdraw-side", "change-booking", "fit-stylus", "change-lathe"):
        assert client.get(address(name, 99999)).status_code == 404


@pytest.mark.parametrize("name", ["sides", "bookings", "styli", "stylus-kinds", "lathes", "reject-reasons", "log-side"])
def test_a_list_takes_as_many_queries_for_many_rows_as_for_few(
    bench, client_of, assistant, name, django_assert_max_num_queries
):
    def fill(rows):
        for number in range(rows):
            booking = make_booking(bench.engineer)
            cut(bench, wanted=booking.wanted.first())
            stylus = make_stylus(bench.engineer, bench.kind, f"S-{Stylus.objects.count()}-{number}")
            lathe = actions.add_lathe(by=bench.engineer, once=once(), name=f"Lathe {Stylus.objects.count()}")
            actions.fit_stylus(by=bench.engineer, once=once(), stylus=stylus, lathe=lathe)
            actions.add_reject_reason(by=bench.engineer, once=once(), name=f"R {Stylus.objects.count()}", blame="other")

    client = client_of(assistant)
    fill(2)
    with django_assert_max_num_queries(12) as few:
        assert client.get(address(name)).status_code == 200
    fill(8)
    with django_assert_max_num_queries(12) as many:
        assert client.get(address(name)).status_code == 200
    assert len(many) == len(few)


def test_single_pages_take_as_many_queries_for_much_as_for_little(
    bench, client_of, assistant, django_assert_max_num_queries
):
    booking = make_booking(bench.engineer)
    side = cut(bench, wanted=booking.wanted.first())
    client = client_of(assistant)
    most = {booking.get_absolute_url(): 15, bench.stylus.get_absolute_url(): 21, side.get_absolute_url(): 15}
    pages, before = list(most), []
    for where in pages:
        with django_assert_max_num_queries(most[where]) as taken:
            client.get(where)
        before.append(len(taken))
    for _ in range(15):
        cut(bench, wanted=booking.wanted.first(), outcome="rejected", reject_reason=bench.reason, cut_s=60)
    for where, few in zip(pages, before, strict=True):
        with django_assert_max_num_queries(few):
            client.get(where)
