"""Meters: stepping, resetting, what happened before a reset, and the limits that raise concerns."""

from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.db.models import Sum
from django.urls import reverse

from shop import clock, concern
from shop.concern import Grade
from shop.duties import actions, meters, queries
from shop.duties.concerns import concerns
from shop.duties.models import Tick
from shop.refusal import Changed, NotAllowed, Refused
from tests.duties.makers import make_meter, make_trap_duty
from tests.makers import at, moment, together

pytestmark = pytest.mark.django_db


def step(by, amount, when="2025-03-03 09:00", key="chip", **other):
    return meters.advance(key=key, amount=amount, at=moment(when), by=by, **other)


def reset(by, meter, **other):
    return actions.reset_meter(by=by, once=uuid4(), meter=meter, **other)


def value(key="chip"):
    meter = queries.meter(key)
    assert meter is not None
    ticks = Tick.objects.filter(meter=meter)
    assert meter.value == (ticks.aggregate(total=Sum("amount"))["total"] or 0)
    if last := ticks.order_by("-id").first():
        assert last.value == meter.value
    return meter.value


def test_advance_adds_and_writes_a_tick(assistant):
    make_meter()
    step(assistant, 520, note="Side 1")
    tick = step(assistant, 480)
    assert (tick.amount, tick.value, tick.by) == (480, 1000, assistant)
    assert value() == 1000


def test_advance_of_an_unknown_meter_is_refused(assistant):
    with pytest.raises(Refused, match="starter content"):
        step(assistant, 1)


@pytest.mark.parametrize("inner", [meters.advance, meters.take_back])
def test_negative_amounts_are_a_mistake_of_the_program(assistant, inner):
    make_meter()
    with pytest.raises(ValueError, match="amount"):
        inner(key="chip", amount=-1, at=clock.now(), by=assistant)


def test_take_back_undoes_but_never_below_zero(assistant):
    make_meter()
    step(assistant, 500)
    assert meters.take_back(key="chip", amount=200, at=moment("2025-03-03 09:00"), by=assistant).amount == -200
    assert value() == 300
    assert meters.take_back(key="chip", amount=900, at=moment("2025-03-03 09:00"), by=assistant).amount == -300
    assert value() == 0


def test_reset_brings_it_to_zero_and_is_kept_with_who_and_when(assistant):
    meter = make_meter()
    step(assistant, 700)
    with at("2025-03-03 17:30"):
        tick = reset(assistant, meter, note="into the wet drum")
    meter.refresh_from_db()
    assert (meter.value, meter.reset_at, tick.is_reset, tick.by) == (0, moment("2025-03-03 17:30"), True, assistant)
    assert value() == 0


def test_what_came_before_the_reset_no_longer_counts(assistant):
    meter = make_meter()
    step(assistant, 700)
    with at("2025-03-03 12:00"):
        reset(assistant, meter)
        late = step(assistant, 400, when="2025-03-03 11:00", note="Side 7")
        assert (late.amount, value()) == (0, 0)
        assert "before the last reset" in late.note
        gone = meters.take_back(key="chip", amount=700, at=moment("2025-03-03 09:00"), by=assistant)
        assert (gone.amount, value()) == (0, 0)


def test_a_reset_entered_late_leaves_what_was_counted_after_it(assistant):
    meter = make_meter()
    step(assistant, 700, when="2025-03-03 16:00")
    step(assistant, 300, when="2025-03-04 09:00")
    step(assistant, 200, when="2025-03-04 10:00")
    with at("2025-03-04 11:00"):
        reset(assistant, meter, at=moment("2025-03-03 18:00"))
        assert value() == 500
        reset(assistant, meter, at=moment("2025-03-04 09:30"))
        assert value() == 200


def test_a_reset_in_the_future_or_before_the_last_is_refused(assistant):
    meter = make_meter()
    with at("2025-03-04 11:00"):
        with pytest.raises(Refused, match="future") as no:
            reset(assistant, meter, at=moment("2025-03-04 11:01"))
        assert no.value.field == "at"
        reset(assistant, meter, at=moment("2025-03-04 10:00"))
        with pytest.raises(Refused, match="later reset"):
            reset(assistant, meter, at=moment("2025-03-04 09:00"))
    assert Tick.objects.count() == 1


def test_the_database_refuses_to_change_or_remove_a_tick(assistant):
    make_meter()
    tick = step(assistant, 500)
    for spoil in (lambda: Tick.objects.filter(pk=tick.pk).update(amount=1), lambda: Tick.objects.all().delete()):
        with pytest.raises(IntegrityError), transaction.atomic():
            spoil()
    assert Tick.objects.get().amount == 500


def test_limits_raise_concerns_of_their_grade(assistant):
    make_meter(what_to_do="Empty it.", caution="Burns without air.")
    now = clock.now()
    step(assistant, 5999)
    assert concerns(now) == []
    step(assistant, 1)
    [care] = concerns(now)
    assert (care.grade, care.key) == (Grade.CARE, "duties:meter:chip")
    assert "6.0 g" in care.headline
    assert care.what_to_do == "Empty it. Burns without air."
    step(assistant, 6000)
    [hold] = concerns(now)
    assert (hold.grade, hold.key) == (Grade.HOLD, care.key)
    assert "12.0 g" in hold.reason


def test_a_meter_without_limits_worries_nobody(assistant):
    make_meter(care_at=None, hold_at=None)
    step(assistant, 10**9)
    assert concerns(clock.now()) == []


def test_duties_is_asked_when_concerns_are_gathered(assistant):
    make_meter()
    step(assistant, 6000)
    assert "duties:meter:chip" in [found.key for found in concern.gather(clock.now())]


def test_change_meter_sets_the_limits_and_counts_the_version(engineer):
    meter = make_meter()
    changed = actions.change_meter(
        by=engineer, once=uuid4(), meter=meter, version=1, care_at=3000, hold_at=None, what_to_do="Do", caution=""
    )
    assert (changed.care_at, changed.hold_at, changed.version) == (3000, None, 2)
    with pytest.raises(Changed):
        actions.change_meter(
            by=engineer, once=uuid4(), meter=meter, version=1, care_at=1, hold_at=2, what_to_do="", caution=""
        )


@pytest.mark.parametrize(("care", "hold"), [(10, 9), (0, 9), (9, 0), (-1, None)])
def test_change_meter_refuses_limits_the_wrong_way_round(engineer, care, hold):
    meter = make_meter()
    with pytest.raises(Refused):
        actions.change_meter(
            by=engineer, once=uuid4(), meter=meter, version=1, care_at=care, hold_at=hold, what_to_do="", caution=""
        )
    meter.refresh_from_db()
    assert meter.version == 1


def test_an_assistant_may_not_set_limits(assistant):
    meter = make_meter()
    with pytest.raises(NotAllowed):
        actions.change_meter(
            by=assistant, once=uuid4(), meter=meter, version=1, care_at=1, hold_at=2, what_to_do="", caution=""
        )


@pytest.mark.django_db(transaction=True)
def test_many_steps_at_once_all_count(assistant):
    make_meter()

    def one():
        with transaction.atomic():
            return step(assistant, 10)

    done = together(*[one] * 8)
    assert all(isinstance(tick, Tick) for tick in done)
    assert value() == 80


# The pages ------------------------------------------------------------------------------------------------------------


def test_meters_page_shows_each_with_its_level(client_of, assistant):
    make_meter()
    make_meter("line")
    step(assistant, 4200)
    page = client_of(assistant).get(reverse("duties:meters")).content.decode()
    assert "4.2 g, the shop&#x27;s limit 12 g" in page
    assert "Trap emptied" in page


def test_what_a_duty_falls_due_at_is_told_from_the_limit(client_of, assistant, engineer):
    chip = make_meter()
    make_trap_duty(engineer, chip)
    step(assistant, 4200)
    for address in ("meters/", f"meters/{chip.pk}/", f"meters/{chip.pk}/reset/"):
        page = client_of(assistant).get(f"/duties/{address}").content.decode()
        assert "4.2 g, the shop&#x27;s limit 12 g" in page
        assert "Empty the trap: due at 5 g" in page


def test_meters_page_when_there_are_none(client_of, assistant):
    assert "starter content" in client_of(assistant).get(reverse("duties:meters")).content.decode()


def test_a_visitor_reads_but_sees_no_button(client_of, visitor):
    meter = make_meter()
    page = client_of(visitor).get(meter.get_absolute_url()).content.decode()
    assert reverse("duties:reset-meter", args=[meter.pk]) not in page
    assert client_of(visitor).get(reverse("duties:reset-meter", args=[meter.pk])).status_code == 403
    assert client_of(visitor).post(reverse("duties:reset-meter", args=[meter.pk]), {"once": uuid4()}).status_code == 403


def test_reset_by_the_page_twice_is_one_reset(client_of, assistant):
    meter = make_meter()
    step(assistant, 4200)
    client, address = client_of(assistant), reverse("duties:reset-meter", args=[meter.pk])
    typed = {"once": str(uuid4()), "note": "wet drum"}
    for _ in range(2):
        assert client.post(address, typed).status_code == 302
    assert Tick.objects.filter(is_reset=True).count() == 1
    assert "wet drum" in client.get(meter.get_absolute_url()).content.decode()


def test_reset_in_the_future_keeps_what_was_typed(client_of, assistant):
    meter = make_meter()
    answer = client_of(assistant).post(
        reverse("duties:reset-meter", args=[meter.pk]), {"once": uuid4(), "at": "2999-01-01T10:00", "note": "later <b>"}
    )
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "in the future" in page
    assert "later &lt;b&gt;" in page
    assert page.count("<title>Error:") == 1


def test_a_stranger_is_sent_to_sign_in(client):
    meter = make_meter()
    for name, args in (
        ("meters", []),
        ("meter", [meter.pk]),
        ("reset-meter", [meter.pk]),
        ("change-meter", [meter.pk]),
    ):
        answer = client.post(reverse(f"duties:{name}", args=args))
        assert answer.status_code == 302
        assert reverse("people:sign-in") in answer.url


def test_wrong_methods(client_of, engineer):
    meter = make_meter()
    client = client_of(engineer)
    assert client.post(reverse("duties:meters")).status_code == 405
    assert client.put(reverse("duties:reset-meter", args=[meter.pk])).status_code == 405
    assert client.delete(reverse("duties:change-meter", args=[meter.pk])).status_code == 405


def test_change_meter_page_speaks_grams_and_shows_both_when_stale(client_of, engineer):
    meter = make_meter()
    client, address = client_of(engineer), reverse("duties:change-meter", args=[meter.pk])
    assert 'value="12"' in client.get(address).content.decode()
    typed = {"version": "1", "care_at": "4,5", "hold_at": "9", "what_to_do": "a", "caution": "b"}
    assert client.post(address, typed | {"once": str(uuid4())}).status_code == 302
    meter.refresh_from_db()
    assert (meter.care_at, meter.hold_at) == (4500, 9000)
    stale = client.post(address, typed | {"once": str(uuid4()), "care_at": "2"})
    page = stale.content.decode()
    assert stale.status_code == 422
    assert "What is saved now" in page
    assert "4.5 g" in page
    assert 'value="2"' in page
    assert 'name="version" value="2"' in page


@pytest.mark.parametrize("typed", ["abc", "1e9999", "-3", "999999999"])
def test_change_meter_refuses_nonsense_at_the_field(client_of, engineer, typed):
    meter = make_meter()
    answer = client_of(engineer).post(
        reverse("duties:change-meter", args=[meter.pk]), {"once": uuid4(), "version": 1, "care_at": typed}
    )
    assert answer.status_code == 422
    assert "wrong" in answer.content.decode()
    meter.refresh_from_db()
    assert meter.version == 1


def test_history_is_paged_with_as_many_queries_for_many_as_for_few(client_of, assistant, django_assert_max_num_queries):
    meter = make_meter()
    client = client_of(assistant)
    for _ in range(3):
        step(assistant, 1)
    with django_assert_max_num_queries(8) as few:
        client.get(meter.get_absolute_url())
    for _ in range(100):
        step(assistant, 1)
    with django_assert_max_num_queries(8) as many:
        page = client.get(meter.get_absolute_url()).content.decode()
    assert len(few) == len(many)
    assert "Older" in page
