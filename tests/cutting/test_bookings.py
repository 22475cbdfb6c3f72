"""Bookings and the sides they need; the plan of a side; what a day needs."""

from datetime import timedelta

import pytest

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.actions import WantedSide
from shop.cutting.models import Booking, BookingSide
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.stock.claims import all_claims
from tests.cutting.makers import cut, make_booking, once
from tests.makers import together

pytestmark = pytest.mark.django_db


def change(by, booking, *, version=None, sides=None, **other):
    kept = [
        WantedSide(s.label, s.play_s, s.disc_in, s.speed, s.blank_in, s.width_um, s.land_um)
        for s in booking.wanted.all()
    ]
    facts = {"code": booking.code, "title": booking.title, "cut_on": booking.cut_on}
    return actions.change_booking(
        by=by,
        once=once(),
        booking=booking,
        version=version or booking.version,
        sides=kept if sides is None else sides,
        **facts | other,
    )


def test_a_booking_is_entered_with_its_sides(assistant):
    booking = make_booking(
        assistant, [WantedSide(" A ", 1290), WantedSide("B", 240, disc_in=7, speed="45")], customer="Nobody & Sons"
    )
    a, b = booking.wanted.all()
    assert (a.label, a.play_s, a.disc_in, a.blank_in, a.speed) == ("A", 1290, 12, 14, "33")
    assert (b.disc_in, b.blank_in) == (7, 10)
    assert (booking.version, booking.is_open) == (1, True)


@pytest.mark.parametrize(
    ("field", "other"),
    [
        ("code", {"code": "  "}),
        ("code", {"code": "x" * 31}),
        ("title", {"title": ""}),
        ("title", {"title": "x" * 121}),
        ("sides", {"sides": [WantedSide("A", 1200), WantedSide("a", 900)]}),
        ("sides", {"sides": [WantedSide("A", 0)]}),
        ("sides", {"sides": [WantedSide("A", 10**9)]}),
        ("sides", {"sides": [WantedSide("A", 1200, disc_in=11)]}),
        ("sides", {"sides": [WantedSide("A", 1200, speed="99")]}),
        ("sides", {"sides": [WantedSide("A", 1200, blank_in=10)]}),
        ("sides", {"sides": [WantedSide("A", 1200, width_um=float("nan"))]}),
        ("sides", {"sides": [WantedSide("A", 1200, land_um=-1)]}),
        ("sides", {"sides": [WantedSide("ABCDE", 1200)]}),
        ("sides", {"sides": [WantedSide(str(n), 60) for n in range(25)]}),
    ],
)
def test_what_makes_no_sense_is_refused_at_its_field(assistant, field, other):
    with pytest.raises(Refused) as no:
        make_booking(assistant, other.pop("sides", ()), **other)
    assert no.value.field == field
    assert not Booking.objects.exists()


def test_no_sides_is_refused(assistant):
    with pytest.raises(Refused) as no:
        actions.add_booking(by=assistant, once=once(), code="B-1", title="Empty", cut_on=clock.today(), sides=[])
    assert no.value.field == "sides"


def test_a_code_is_used_once(assistant):
    make_booking(assistant, code="B-77")
    with pytest.raises(Refused) as no:
        make_booking(assistant, code="b-77")
    assert no.value.field == "code"


@pytest.mark.django_db(transaction=True)
def test_a_code_entered_twice_at_once_is_one_booking(assistant):
    done = together(*[lambda: make_booking(assistant, code="B-77")] * 2)
    assert sum(isinstance(result, Refused) for result in done) == 1, done
    assert BookingSide.objects.count() == 2


def test_a_day_gone_by_is_asked_about(assistant):
    gone = clock.today() - timedelta(days=1)
    with pytest.raises(Doubtful) as asked:
        make_booking(assistant, cut_on=gone)
    assert make_booking(assistant, cut_on=gone, sure=[asked.value.doubts[0].key]).cut_on == gone


def test_a_side_that_does_not_fit_may_be_booked_to_be_talked_over(assistant):
    booking = make_booking(assistant, [WantedSide("A", 45 * 60)])
    [needed] = queries.needs_of(booking.wanted.all(), clock.today()).sides
    assert not needed.plan.fits


def test_change_keeps_sides_adds_and_drops(bench):
    booking = make_booking(bench.engineer)
    a = booking.wanted.get(label="A")
    changed = change(
        bench.engineer,
        booking,
        title="Other songs",
        sides=[WantedSide("a", 1000, width_um=50.0), WantedSide("C", 900)],
    )
    assert (changed.title, changed.version) == ("Other songs", 2)
    assert changed.wanted.filter(pk=a.pk, label="a", play_s=1000, width_um=50.0).exists()
    assert sorted(changed.wanted.values_list("label", flat=True)) == ["C", "a"]


def test_a_stale_change_is_refused(bench):
    booking = make_booking(bench.engineer)
    change(bench.engineer, booking, title="First")
    with pytest.raises(Changed):
        change(bench.engineer, booking, version=1, title="Second")
    assert Booking.objects.get().title == "First"


def test_a_side_that_was_cut_stays_in_its_booking(bench):
    booking = make_booking(bench.engineer)
    cut(bench, wanted=booking.wanted.get(label="A"))
    with pytest.raises(Refused, match="was cut"):
        change(bench.engineer, booking, sides=[WantedSide("B", 1200)])
    assert booking.wanted.count() == 2


def test_dropping_the_last_uncut_side_finishes_it(bench):
    booking = make_booking(bench.engineer)
    cut(bench, wanted=booking.wanted.get(label="A"))
    assert change(bench.engineer, booking, sides=[WantedSide("A", 1200)]).finished_at is not None


def test_finish_asks_about_uncut_sides_and_closed_ones_refuse(bench):
    booking = make_booking(bench.engineer)
    with pytest.raises(Doubtful, match="Not cut yet: A, B"):
        actions.finish_booking(by=bench.engineer, once=once(), booking=booking)
    done = actions.finish_booking(by=bench.engineer, once=once(), booking=booking, sure=["uncut:A, B"])
    assert done.finished_at == clock.now()
    for again in (actions.finish_booking, actions.cancel_booking):
        with pytest.raises(Refused, match="finished at 10:00"):
            again(by=bench.engineer, once=once(), booking=booking)
    with pytest.raises(Refused):
        change(bench.engineer, Booking.objects.get())


def test_cancel_and_open_again(bench, assistant):
    booking = make_booking(bench.engineer, note="Bring tape.")
    with pytest.raises(NotAllowed):
        actions.cancel_booking(by=assistant, once=once(), booking=booking)
    done = actions.cancel_booking(by=bench.engineer, once=once(), booking=booking, note="tape lost")
    assert (done.cancelled_at, done.note) == (clock.now(), "Bring tape. Cancelled: tape lost")
    assert actions.reopen_booking(by=assistant, once=once(), booking=booking).is_open
    with pytest.raises(Refused, match="open already"):
        actions.reopen_booking(by=assistant, once=once(), booking=booking)


def test_a_booking_with_every_side_cut_does_not_open_again(bench):
    booking = make_booking(bench.engineer, [WantedSide("A", 1200)])
    cut(bench, wanted=booking.wanted.get())
    with pytest.raises(Refused, match="good cut"):
        actions.reopen_booking(by=bench.engineer, once=once(), booking=booking)


def test_a_visitor_books_nothing(visitor):
    with pytest.raises(NotAllowed):
        make_booking(visitor)


# What is wanted -------------------------------------------------------------------------------------------------------


def test_uncut_are_the_open_sides_up_to_that_day(bench):
    today = clock.today()
    first = make_booking(bench.engineer, cut_on=today - timedelta(days=1), sure=[f"gone:{today - timedelta(days=1)}"])
    second = make_booking(bench.engineer)
    make_booking(bench.engineer, cut_on=today + timedelta(days=1))
    cancelled = make_booking(bench.engineer)
    actions.cancel_booking(by=bench.engineer, once=once(), booking=cancelled)
    cut(bench, wanted=first.wanted.get(label="A"))
    spoiled = second.wanted.get(label="B")
    cut(bench, wanted=spoiled, outcome="rejected", reject_reason=bench.reason)
    assert [str(side) for side in queries.uncut(today)] == [
        f"{first.code} B",
        f"{second.code} A",
        f"{second.code} B",
    ]


def test_day_needs_add_up(bench):
    make_booking(bench.engineer, [WantedSide("A", 1200), WantedSide("B", 240, disc_in=7, speed="45")])
    needs = queries.day_needs(clock.today())
    assert needs.blanks == {14: 1, 10: 1}
    assert needs.cut_s == 1440
    # circles of the mean diameter: 666.67 turns at 191 lines an inch from 292.6 mm, 180 turns at 170 from 168.3 mm
    assert needs.sides[0].estimate.length_m == pytest.approx(427.14, rel=1e-3)
    assert needs.sides[1].estimate.length_m == pytest.approx(79.96, rel=1e-3)
    assert needs.chip_mg == sum(side.estimate.chip_mg for side in needs.sides)
    assert needs.not_fitting == []


def test_day_needs_is_one_query(bench, django_assert_num_queries):
    for _ in range(5):
        make_booking(bench.engineer)
    with django_assert_num_queries(1):
        assert len(queries.day_needs(clock.today()).sides) == 10


def test_open_bookings_claim_their_blanks(bench):
    booking = make_booking(
        bench.engineer, [WantedSide("A", 1200), WantedSide("B", 1200), WantedSide("C", 240, 7, "45")]
    )
    cut(bench, wanted=booking.wanted.get(label="A"))
    claims = {(claim.blank_in, claim.quantity, claim.label, claim.link) for claim in all_claims(clock.today())}
    label, link = f"booking {booking.code}", booking.get_absolute_url()
    assert claims == {(14, 1, label, link), (10, 1, label, link)}


@pytest.mark.parametrize(
    ("last", "following"),
    [("B-0099", "B-0100"), ("2025/7", "2025/8"), ("Gala", ""), ("9", "10"), ("x" * 29 + "9", None)],
)
def test_the_next_code_goes_up_by_one(assistant, last, following):
    make_booking(assistant, code=last)
    assert queries.next_code() == (following if following is not None else ("x" * 29 + "10")[:30])
