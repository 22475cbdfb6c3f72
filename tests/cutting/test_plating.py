"""Masters on to plating: waiting, sent, arrived, reported on, kept back."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from shop import clock, concern
from shop.concern import Grade
from shop.cutting import actions, queries
from shop.cutting.actions import Said, WantedSide
from shop.cutting.models import EarlierReport, Master, Parcel, Side
from shop.refusal import Doubtful, NotAllowed, Refused
from tests.cutting.makers import address, cut, make_booking, once, side_facts, text
from tests.makers import at, moment, together

pytestmark = pytest.mark.django_db


def masters(bench, count=2, **other):
    return [cut(bench, **other).master for _ in range(count)]


def send(by, these, **other):
    facts = {"sent_to": "Hollowmere Plating", "sent_with": "The red van"}
    return actions.send_masters(by=by, once=once(), masters=these, **facts | other)


def report(by, parcel, *said, **other):
    return actions.report_masters(by=by, once=once(), parcel=parcel, said=said, **other)


def waiting():
    return list(queries.waiting_masters())


def worries():
    return [one for one in concern.gather(clock.now()) if one.key == "cutting:plating"]


def test_good_sides_wait_and_no_others(bench):
    good = cut(bench)
    cut(bench, outcome="test")
    cut(bench, outcome="rejected", reject_reason=bench.reason)
    assert [one.side for one in waiting()] == [good]
    actions.withdraw_side(by=bench.engineer, once=once(), side=good, reason="not cut")
    assert not Master.objects.exists()


def test_where_the_shop_does_not_keep_it_none_waits(bench):
    actions.change_limits(
        by=bench.engineer, once=once(), version=1, care_below=0.9, hold_below=0.6, days_ahead=14, plating_days=None
    )
    cut(bench)
    assert waiting() == []


def test_a_parcel_takes_them_arrives_and_is_reported_on(bench, assistant):
    first, second, third = masters(bench, 3)
    parcel = send(assistant, [first, second])
    assert waiting() == [third]
    with at("2025-03-05 09:00"):
        arrived = actions.note_arrival(by=assistant, once=once(), parcel=parcel)
        assert (arrived.arrived_at, arrived.arrived_by) == (clock.now(), assistant)
        report(assistant, parcel, Said(first, "fine"), Said(second, "noisy", "ticks near the centre"))
    second.refresh_from_db()
    assert (second.report, second.wrong, second.reported_by) == ("noisy", "ticks near the centre", assistant)
    stylus = bench.stylus
    assert queries.reports_on(stylus) == {"Fine": 1, "Noisy": 1}
    found = queries.looking_back(moment("2025-03-01 00:00"), moment("2025-04-01 00:00"))
    assert [(one.name, one.fine, one.noisy, one.refused) for one in found.plated_lots] == [("L1", 1, 1, 0)]
    assert [(one.name, one.noisy) for one in found.plated_styli] == [("R-1", 1)]


def test_a_report_says_that_it_arrived(bench):
    [one] = masters(bench, 1)
    parcel = send(bench.engineer, [one])
    report(bench.engineer, parcel, Said(one, "refused", "scratched"))
    assert Parcel.objects.get().arrived_at == clock.now()


def test_one_that_went_or_was_withdrawn_is_refused(bench):
    first, second = masters(bench)
    send(bench.engineer, [first])
    with pytest.raises(Refused, match="went to plating already") as no:
        send(bench.engineer, [first, second])
    assert no.value.field == "masters"
    assert waiting() == [second]
    actions.withdraw_side(by=bench.engineer, once=once(), side=second.side, reason="not cut")
    with pytest.raises(Refused, match="withdrawn meanwhile"):
        send(bench.engineer, [second])
    with pytest.raises(Refused, match="at least one"):
        send(bench.engineer, [])


def test_times_that_run_backwards_are_refused(bench):
    [one] = masters(bench, 1)
    with pytest.raises(Refused, match="only cut at 10:00"):
        send(bench.engineer, [one], at=moment("2025-03-03 09:59"))
    parcel = send(bench.engineer, [one])
    for act, facts in (
        (actions.note_arrival, {}),
        (actions.report_masters, {"said": [Said(one, "fine")]}),
    ):
        with pytest.raises(Refused, match="only sent at 10:00") as no:
            act(by=bench.engineer, once=once(), parcel=parcel, at=moment("2025-03-03 09:59"), **facts)
        assert no.value.field == "at"
    actions.note_arrival(by=bench.engineer, once=once(), parcel=parcel)
    with pytest.raises(Refused, match="arrived at 10:00 on 3 March already"):
        actions.note_arrival(by=bench.engineer, once=once(), parcel=parcel)


def test_a_report_needs_what_was_wrong_and_a_master_of_that_parcel(bench):
    first, second = masters(bench)
    parcel = send(bench.engineer, [first])
    for said, field in (
        (Said(first, "noisy"), f"master{first.pk}_wrong"),
        (Said(first, "splendid"), f"master{first.pk}"),
        (Said(second, "fine"), f"master{second.pk}"),
    ):
        with pytest.raises(Refused) as no:
            report(bench.engineer, parcel, said)
        assert no.value.field == field
    with pytest.raises(Refused, match="at least one"):
        report(bench.engineer, parcel, Said(first, ""))
    with pytest.raises(IntegrityError), transaction.atomic():
        Master.objects.filter(pk=first.pk).update(report="noisy")


def test_a_report_put_right_stands_with_its_own_words_and_the_earlier_one_beneath(bench, client_of, assistant):
    first, second = masters(bench)
    parcel = send(bench.engineer, [first, second])
    report(bench.engineer, parcel, Said(first, "refused", "horns in band 3"), Said(second, "fine"))
    with at("2025-03-05 09:00"):
        # the words of the report that is put right are still in the box
        report(assistant, parcel, Said(first, "fine", "horns in band 3"), Said(second, "fine"))
        for one in (first, second):
            one.refresh_from_db()
        assert (first.report, first.wrong, first.reported_by) == ("fine", "", assistant)
        assert second.reported_by == bench.engineer  # said once more, it stands as it was
        [earlier] = first.earlier_reports.all()
        assert (earlier.report, earlier.wrong, earlier.reported_by) == ("refused", "horns in band 3", bench.engineer)
        assert earlier.reported_at == moment("2025-03-03 10:00")
        with pytest.raises(Refused, match="stands already"):
            report(assistant, parcel, Said(first, "fine"))
        page = text(client_of(assistant).get(parcel.get_absolute_url()))
        assert f"Fine, 5 Mar 2025 ({assistant})" in page
        assert f"Before that: Refused: horns in band 3, 3 Mar 2025 ({bench.engineer})" in page
        assert "Before that: Refused: horns in band 3" in text(client_of(assistant).get(first.side.get_absolute_url()))
        report(assistant, parcel, Said(first, "fine", "a faint tick, let through"))
        first.refresh_from_db()
        assert first.wrong == "a faint tick, let through"
    with pytest.raises(IntegrityError), transaction.atomic():
        EarlierReport.objects.update(wrong="nothing")


def test_a_side_whose_master_was_refused_is_to_be_cut_again(bench, client_of, assistant):
    booking = make_booking(bench.engineer, code="LS-9")
    a, b = booking.wanted.all()
    these = [cut(bench, wanted=wanted).master for wanted in (a, b)]
    parcel = send(bench.engineer, these)
    booking.refresh_from_db()
    assert booking.finished_at is not None
    client = client_of(assistant)
    told = {"once": once(), f"master{these[0].pk}": "fine", f"master{these[1].pk}": "refused"}
    told |= {f"master{these[1].pk}_wrong": "horns in band 3"}
    page = text(client.post(address("report-masters", parcel.pk), told, follow=True))
    assert "What was reported is written down. To be cut again: LS-9 B." in page
    assert f'{address("start-side")}?wanted={b.pk}">Cut LS-9 B</a>' in page
    booking.refresh_from_db()
    assert booking.is_open
    assert queries.uncut_of(booking) == [b]
    assert [(one.sides, one.cut) for one in queries.bookings()] == [(2, 1)]
    page = text(client.get(booking.get_absolute_url()))
    assert "refused by the platers</span>: horns in band 3" in page
    assert "Log side B" in page
    assert "Log side A" not in page
    # the ledger and the history are as they were; another cut asks nothing and finishes the booking again
    assert Side.objects.count() == 2
    with at("2025-03-06 10:00"):
        actions.log_side(by=assistant, once=once(), **side_facts(bench, wanted=b))
    booking.refresh_from_db()
    assert booking.finished_at is not None
    assert queries.to_cut_again(parcel) == []


def test_a_refusal_put_right_needs_no_other_cut(bench):
    booking = make_booking(bench.engineer, [WantedSide("A", 1200)])
    one = cut(bench, wanted=booking.wanted.get()).master
    parcel = send(bench.engineer, [one])
    report(bench.engineer, parcel, Said(one, "refused", "scratched"))
    booking.refresh_from_db()
    assert booking.is_open
    report(bench.engineer, parcel, Said(one, "fine"))
    booking.refresh_from_db()
    assert booking.finished_at is not None


def test_a_cancelled_booking_stays_cancelled_whatever_is_reported(bench):
    booking = make_booking(bench.engineer)
    one = cut(bench, wanted=booking.wanted.first()).master
    parcel = send(bench.engineer, [one])
    actions.cancel_booking(by=bench.engineer, once=once(), booking=booking)
    report(bench.engineer, parcel, Said(one, "refused", "scratched"))
    booking.refresh_from_db()
    assert booking.cancelled_at is not None
    assert queries.to_cut_again(parcel) == []


def test_a_side_that_went_in_a_parcel_is_withdrawn_only_once_that_was_seen(bench, client_of, assistant):
    first, second = masters(bench)
    parcel = send(bench.engineer, [first, second])
    client = client_of(bench.engineer)
    where = address("withdraw-side", first.side_id)
    typed = {"once": str(once()), "reason": "logged twice"}
    asked = client.post(where, typed)
    [doubt] = asked.context["form"].doubts
    assert f"It went to Hollowmere Plating in {parcel} at 10:00 on 3 March: what lies in a parcel" in text(asked)
    assert f'value="{doubt.key}"' in text(asked)
    assert queries.is_withdrawn(Side.objects.get(pk=first.side_id)) is False
    assert client.post(where, typed | {"sure": doubt.key}).status_code == 302
    page = text(client.get(parcel.get_absolute_url()))
    assert page.count('<span class="badge">withdrawn</span>') == 1
    assert [one.count for one in queries.parcels()] == [1]
    assert f"master{first.pk}" not in text(client.get(address("report-masters", parcel.pk)))
    with pytest.raises(Refused, match="withdrawn") as no:
        report(bench.engineer, parcel, Said(first, "fine"))
    assert no.value.field == f"master{first.pk}"
    # once it was reported on it is asked anew
    report(bench.engineer, parcel, Said(second, "noisy", "ticks"))
    with pytest.raises(Doubtful, match="and was reported noisy"):
        actions.withdraw_side(by=bench.engineer, once=once(), side=second.side, reason="x", sure=[doubt.key])


def test_one_kept_back_waits_no_more_until_it_goes_after_all(bench, assistant, visitor):
    first, second = masters(bench)
    actions.keep_masters_back(by=assistant, once=once(), masters=[first], why="a reference")
    assert waiting() == [second]
    with pytest.raises(Refused, match="was kept back already"):
        send(assistant, [first])
    actions.send_after_all(by=assistant, once=once(), master=first)
    assert waiting() == [first, second]
    with pytest.raises(Refused, match="not kept back"):
        actions.send_after_all(by=assistant, once=once(), master=first)
    with pytest.raises(NotAllowed):
        actions.keep_masters_back(by=visitor, once=once(), masters=[first], why="x")
    with pytest.raises(Refused) as no:
        actions.keep_masters_back(by=assistant, once=once(), masters=[first], why="")
    assert no.value.field == "why"


@pytest.mark.django_db(transaction=True)
def test_sent_twice_at_once_it_goes_in_one_parcel(engineer):
    from tests.cutting.makers import make_bench

    these = masters(make_bench(engineer), 2)
    done = together(*[lambda: send(engineer, these)] * 2)
    assert sum(isinstance(result, Parcel) for result in done) == 1, done
    assert {one.parcel_id for one in Master.objects.all()} == {Parcel.objects.get().pk}


def test_waiting_past_the_limit_is_a_note_and_at_twice_that_care(bench):
    masters(bench)
    grades = {}
    for days in range(9):
        with at((moment("2025-03-03 10:00") + timedelta(days=days)).isoformat()[:16].replace("T", " ")):
            grades[days] = [worry.grade for worry in worries()]
    assert grades == {days: [] if days < 4 else [Grade.NOTE] if days < 6 else [Grade.CARE] for days in range(9)}
    with at("2025-03-07 10:00"):
        [worry] = worries()
        assert worry.headline == "A master has waited 4 days for plating"
        assert "2 masters wait; the oldest was cut on 3 March 2025. The shop's own limit is 3 days." in worry.reason
        assert worry.link == address("plating")
        send(bench.engineer, waiting())
        assert worries() == []


def test_by_the_pages(bench, client_of, assistant, visitor):
    first, second, third = masters(bench, 3)
    client = client_of(assistant)
    assert "3 masters wait" in text(client.get(address("plating")))
    where = address("send-masters")
    assert client.post(where, {"once": once(), "sent_to": "Hollowmere"}).status_code == 422
    facts = {"once": str(once()), "masters": [first.pk, second.pk], "sent_to": "Hollowmere", "sent_with": "van"}
    for _ in range(2):
        assert client.post(where, facts).status_code == 302
    parcel = Parcel.objects.get()
    assert client.post(address("note-arrival", parcel.pk), {"once": once()}).status_code == 302
    told = address("report-masters", parcel.pk)
    wrong = client.post(told, {"once": once(), f"master{first.pk}": "noisy"})
    assert wrong.status_code == 422
    assert "Write something here" in text(wrong)
    noisy = {f"master{first.pk}": "noisy", f"master{first.pk}_wrong": "ticks", "others_fine": "on"}
    assert client.post(told, {"once": once(), **noisy}).status_code == 302
    assert set(Master.objects.filter(parcel=parcel).values_list("report", flat=True)) == {"noisy", "fine"}
    page = text(client.get(parcel.get_absolute_url()))
    assert "Noisy: ticks" in page
    assert "reported noisy: ticks" in text(client.get(first.side.get_absolute_url()))
    back = {"once": once(), "masters": [third.pk], "why": "a reference"}
    assert client.post(address("keep-masters-back"), back).status_code == 302
    assert "kept back by" in text(client.get(third.side.get_absolute_url()))
    assert client.post(address("send-after-all", third.pk), {"once": once()}).status_code == 302
    seen = text(client_of(visitor).get(address("plating")))
    assert "1 master waits to be sent" in seen
    assert address("send-masters") not in seen


def test_the_page_takes_as_many_queries_for_many_as_for_few(bench, client_of, assistant, django_assert_max_num_queries):
    client = client_of(assistant)
    for _ in range(2):
        for one in masters(bench, 3):
            send(bench.engineer, [one])
        masters(bench, 3)
        with django_assert_max_num_queries(12):
            assert client.get(address("plating")).status_code == 200


@pytest.mark.parametrize("name", ["send-masters", "keep-masters-back"])
@pytest.mark.parametrize(
    "typed", [{}, {"masters": "1"}, {"sent_to": "Hollowmere", "sent_with": "The van", "why": "Dull"}]
)
def test_pressed_where_none_waits_it_says_that_and_asks_for_nothing(bench, client_of, assistant, name, typed):
    client = client_of(assistant)
    assert "No master waits" in text(client.get(address(name)))
    answer = client.post(address(name), {"once": str(once()), **typed} if typed else {})
    page = text(answer)
    assert answer.status_code == 422
    assert "<li>No master waits to be sent: there is nothing to choose.</li>" in page
    assert 'href="#id_' not in page  # no box is there to go to
    assert not Parcel.objects.exists()
