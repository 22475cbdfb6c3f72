"""A side that was started stands in the way of logging it beside that, and whoever judges it always has a way on."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from shop import clock
from shop.cutting import actions
from shop.cutting.actions import WantedSide
from shop.cutting.models import Booking, BookingSide, Lathe, RunningSide, Side
from shop.people.models import Person
from shop.refusal import Doubtful, NotAllowed, Refused
from tests.cutting.makers import Bench, address, cut, make_booking, make_stylus, once, side_facts, start, text
from tests.makers import at, moment

pytestmark = pytest.mark.django_db

DAY = "2025-03-03"


def begun(bench: Bench, clock_time: str = "10:00:00", **other: Any) -> RunningSide:
    with at(f"{DAY} {clock_time}"):
        return start(bench, **other)


def stopped(bench: Bench, run: RunningSide, clock_time: str = "10:20:00") -> RunningSide:
    with at(f"{DAY} {clock_time}"):
        return actions.stop_side(by=bench.engineer, once=once(), run=run)


def log(bench: Bench, **other: Any) -> Side:
    return actions.log_side(by=bench.engineer, once=once(), **side_facts(bench, **other))


def judge(bench: Bench, run: RunningSide, **other: Any) -> Side:
    run.refresh_from_db()
    facts = {"outcome": "good", "cut_s": actions.seconds_of(run), "lot": run.lot}
    return actions.judge_side(by=bench.engineer, once=once(), run=run, **facts | other)


def one_side(bench: Bench, **other: Any) -> BookingSide:
    return make_booking(bench.engineer, [WantedSide("B", 1200)], **{"code": "B-1"} | other).wanted.get()


def two_lathes(bench: Bench) -> Lathe:
    lathe = actions.add_lathe(by=bench.engineer, once=once(), name="Lathe 2")
    stylus = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=stylus, lathe=lathe, at=moment(f"{DAY} 09:00"))
    return lathe


def left(bench: Bench) -> int:
    bench.lot.refresh_from_db()
    return bench.lot.on_hand


def refused(bench: Bench, match: str, **other: Any) -> Refused:
    with pytest.raises(Refused, match=match) as no:
        log(bench, **other)
    assert not isinstance(no.value, Doubtful)
    assert no.value.field == "stylus"
    assert left(bench) == 300
    return no.value


# Logging while one is under way ---------------------------------------------------------------------------------------


def test_a_side_is_not_logged_while_one_runs_over_its_time(bench: Bench) -> None:
    wanted = one_side(bench)
    begun(bench, wanted=wanted)
    with at(f"{DAY} 10:01:15"):
        refused(bench, r"^B-1 B runs on Lathe since 10:00 on 3 March\. Stop it", outcome="test", cut_s=5)
        refused(bench, r"^B-1 B runs on Lathe", wanted=wanted)
    with at(f"{DAY} 10:30"):
        refused(bench, r"^B-1 B runs on Lathe", at=moment(f"{DAY} 10:20"), cut_s=300)


def test_a_side_that_was_cut_before_one_runs_is_logged(bench: Bench) -> None:
    begun(bench)
    with at(f"{DAY} 10:10"):
        assert log(bench, at=moment(f"{DAY} 09:58")).pk
        with pytest.raises(Doubtful, match="Is this another cut") as asked:
            log(bench, at=moment(f"{DAY} 10:01"), cut_s=60)  # a minute of rounding
        assert [doubt.field for doubt in asked.value.doubts] == ["stylus"]


def test_another_lathe_is_free(bench: Bench) -> None:
    lathe = two_lathes(bench)
    begun(bench)
    with at(f"{DAY} 10:10"):
        assert log(bench, lathe=lathe, cut_s=300).lathe == lathe


def test_the_same_booked_side_that_runs_on_another_lathe_is_asked_about(bench: Bench) -> None:
    lathe, wanted = two_lathes(bench), one_side(bench)
    run = begun(bench, wanted=wanted)
    with at(f"{DAY} 10:30"):
        with pytest.raises(Doubtful, match="B-1 B was begun on Lathe at 10:00 on 3 March, and runs still"):
            log(bench, lathe=lathe, wanted=wanted)
        log(bench, lathe=lathe, wanted=wanted, sure=[f"begun-{run.pk}:stylus"])
        wanted.booking.refresh_from_db()
        assert wanted.booking.is_open  # the other cut counts for it too, once it is judged
    stopped(bench, run, "10:31:00")
    with at(f"{DAY} 10:32"):
        actions.drop_side(by=bench.engineer, once=once(), run=run, why="never went down")
    wanted.booking.refresh_from_db()
    assert wanted.booking.finished_at == moment(f"{DAY} 10:32")


def test_what_was_stopped_is_judged_before_it_is_logged_beside_that(bench: Bench) -> None:
    wanted = one_side(bench)
    stopped(bench, begun(bench, wanted=wanted))
    with at(f"{DAY} 10:45"):
        no = refused(bench, "stopped at 10:20 on 3 March, and nobody has said what", at=moment(f"{DAY} 10:21"))
        assert "Or say that it was not cut" in no.sentence
        refused(bench, "Say that first", wanted=wanted)
        refused(bench, "Say that first", wanted=wanted, at=moment(f"{DAY} 09:40"))


def test_one_logged_late_as_just_now_may_be_the_one_that_was_stopped(bench: Bench) -> None:
    run = stopped(bench, begun(bench))
    with at(f"{DAY} 10:45"):
        with pytest.raises(Doubtful, match=r"A side without a booking was begun on Lathe .* Is this another cut\?"):
            log(bench)
        assert left(bench) == 300
        log(bench, sure=[f"begun-{run.pk}:stylus"])


def test_a_stopped_one_of_another_time_is_no_obstacle(bench: Bench) -> None:
    stopped(bench, begun(bench))
    with at(f"{DAY} 11:00"):
        assert log(bench, at=moment(f"{DAY} 10:50")).pk
        assert log(bench, at=moment(f"{DAY} 09:50")).pk


def test_what_was_judged_or_dropped_is_no_obstacle(bench: Bench) -> None:
    run = stopped(bench, begun(bench))
    with at(f"{DAY} 10:21"):
        actions.drop_side(by=bench.engineer, once=once(), run=run, why="the head never went down")
        assert log(bench).pk


def test_a_stylus_is_not_taken_off_before_what_it_may_have_cut(bench: Bench) -> None:
    run = stopped(bench, begun(bench))
    with at(f"{DAY} 10:30"):
        facts = {"by": bench.engineer, "stylus": bench.stylus}
        with pytest.raises(Refused, match="Say first what became of that"):
            actions.take_off_stylus(**facts, once=once(), at=moment(f"{DAY} 10:10"))
        actions.take_off_stylus(**facts, once=once(), at=moment(f"{DAY} 10:25"))
        assert judge(bench, run).pk


def test_a_start_that_was_sent_late_begins_once_the_last_was_stopped(bench: Bench) -> None:
    first = stopped(bench, begun(bench))
    with at(f"{DAY} 10:30"):
        second = start(bench, pressed_at=moment(f"{DAY} 10:05"))
        assert second.started_at == first.stopped_at
        actions.stop_side(by=bench.engineer, once=once(), run=second)
        with pytest.raises(Refused, match="this one had ended by then"):
            judge(bench, first, cut_s=1500)
        assert [judge(bench, first).cut_s, judge(bench, second).cut_s] == [1200, 600]


# Judging, whatever happened meanwhile ---------------------------------------------------------------------------------


def finished_meanwhile(bench: Bench) -> RunningSide:
    """A stopped side whose booking is closed: no press comes to that any more, but a book from before may."""
    run = stopped(bench, begun(bench, wanted=one_side(bench)))
    Booking.objects.update(finished_at=moment(f"{DAY} 10:10"))
    run.refresh_from_db()
    return RunningSide.objects.get()


def test_where_its_booking_was_finished_it_is_logged_without_it(bench: Bench) -> None:
    run = finished_meanwhile(bench)
    with at(f"{DAY} 10:30"):
        with pytest.raises(Refused, match="Booking B-1 was finished at 10:10") as no:
            judge(bench, run)
        assert no.value.field == "without_booking"
        side = judge(bench, run, without_booking=True)
    assert (side.wanted, side.cut_s, left(bench)) == (None, 1200, 299)
    run.refresh_from_db()
    assert run.side == side


def test_judging_the_last_side_finishes_its_booking(bench: Bench) -> None:
    wanted = one_side(bench)
    run = stopped(bench, begun(bench, wanted=wanted))
    with at(f"{DAY} 10:30"):
        judge(bench, run)
        wanted.booking.refresh_from_db()
        assert wanted.booking.finished_at == clock.now()


def test_where_its_booking_is_open_it_counts_for_that(bench: Bench) -> None:
    run = stopped(bench, begun(bench, wanted=one_side(bench)))
    with at(f"{DAY} 10:30"), pytest.raises(Refused, match="B-1 is open again"):
        judge(bench, run, without_booking=True)


def test_one_that_was_logged_already_is_that_side_and_takes_nothing(bench: Bench) -> None:
    wanted = one_side(bench)
    with at(f"{DAY} 10:20"):
        side = log(bench, at=moment(f"{DAY} 10:19"))
    with at(f"{DAY} 10:30"):  # two presses that waited for a connection
        run = start(bench, wanted=wanted, pressed_at=moment(f"{DAY} 10:00"))
        actions.stop_side(by=bench.engineer, once=once(), run=run, pressed_at=moment(f"{DAY} 10:20"))
        with pytest.raises(Refused, match="One lathe cuts one side at a time"):
            judge(bench, run)
        before = (left(bench), Side.objects.count())
        assert actions.judge_as_logged(by=bench.engineer, once=once(), run=run, side=side) == side
        assert (left(bench), Side.objects.count()) == before == (299, 1)
        run.refresh_from_db()
        assert (run.side, run.is_open) == (side, False)
        with pytest.raises(Refused, match="said already"):
            actions.judge_as_logged(by=bench.engineer, once=once(), run=run, side=side)


def test_a_booking_that_waited_for_that_alone_is_finished(bench: Bench) -> None:
    lathe, wanted = two_lathes(bench), one_side(bench)
    with at(f"{DAY} 10:00"):
        run = start(bench, wanted=wanted)
        other = start(bench, wanted=wanted, lathe=lathe, sure=[f"elsewhere-{run.pk}:stylus"])
    for one in (run, other):
        stopped(bench, one)
    with at(f"{DAY} 10:25"):
        judge(bench, run)
        wanted.booking.refresh_from_db()
        assert wanted.booking.is_open
        actions.drop_side(by=bench.engineer, once=once(), run=other, why="the same one, pressed twice")
        wanted.booking.refresh_from_db()
        assert wanted.booking.finished_at == clock.now()


def test_what_cannot_be_that_side_is_refused(bench: Bench, visitor: Person) -> None:
    lathe = two_lathes(bench)
    wanted = one_side(bench)
    with at(f"{DAY} 09:55"):
        before = log(bench, at=moment(f"{DAY} 09:50"))
    run = stopped(bench, begun(bench, wanted=wanted))
    with at(f"{DAY} 10:45"):
        elsewhere = log(bench, lathe=lathe)
        booked = log(bench, wanted=one_side(bench, code="B-2"), at=moment(f"{DAY} 10:42"))
        taken_back = log(bench, at=moment(f"{DAY} 09:30"))
        actions.withdraw_side(by=bench.engineer, once=once(), side=taken_back, reason="twice")
        for side in (before, elsewhere, booked, taken_back):
            with pytest.raises(Refused, match="is not what was begun then") as no:
                actions.judge_as_logged(by=bench.engineer, once=once(), run=run, side=side)
            assert no.value.field == "side"
        with pytest.raises(NotAllowed):
            actions.judge_as_logged(by=visitor, once=once(), run=run, side=before)
        running = start(bench)
        with pytest.raises(Refused, match="still runs"):
            actions.judge_as_logged(by=bench.engineer, once=once(), run=running, side=before)


# The pages ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def signed_in(bench: Bench, client_of: Callable[[Person], Client]) -> Client:
    return client_of(bench.engineer)


def test_logging_shows_what_is_under_way(bench: Bench, signed_in: Client, django_assert_max_num_queries: Any) -> None:
    run = begun(bench, wanted=one_side(bench))
    with at(f"{DAY} 10:10"):
        with django_assert_max_num_queries(13):
            page = text(signed_in.get(address("log-side")))
        assert f'href="{run.get_absolute_url()}"' in page
        assert "Runs now" in page
        assert "B-1 B on Lathe" in page
        fitting = bench.lathe.fittings.get(off_at=None)
        answer = signed_in.post(
            address("log-side"),
            {
                "once": once(),
                "wanted": "",
                "outcome": "test",
                "cut_s": "0:05",
                "stylus": fitting.pk,
                "lot": bench.lot.pk,
                "disc_in": 12,
                "speed": "33",
                "width_um": "56",
            },
        )
        assert answer.status_code == 422
        assert "B-1 B runs on Lathe since 10:00 on 3 March. Stop it" in text(answer)
        assert run.get_absolute_url() in text(answer)
        assert not Side.objects.exists()


def test_a_side_without_a_booking_names_its_lathe_once(bench: Bench, signed_in: Client) -> None:
    begun(bench)
    with at(f"{DAY} 10:10"):
        assert "a side without a booking on Lathe, begun" in text(signed_in.get(address("start-side")))
        with pytest.raises(Refused, match=r"^R-1 is cutting: a side without a booking runs on Lathe since 10:00"):
            actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
        with pytest.raises(Refused, match=r"^A side without a booking runs on Lathe since"):
            start(bench)


def test_judging_offers_the_way_out_of_a_closed_booking(bench: Bench, signed_in: Client) -> None:
    run = finished_meanwhile(bench)
    with at(f"{DAY} 10:30"):
        page = text(signed_in.get(address("judge-side", run.pk)))
        assert 'name="without_booking"' in page
        assert address("drop-side", run.pk) in page
        assert address("judge-as-logged", run.pk) not in page  # nothing is logged that it could be
        typed = {"once": once(), "outcome": "good", "cut_s": "20:00", "lot": bench.lot.pk}
        answer = signed_in.post(address("judge-side", run.pk), typed)
        assert answer.status_code == 422
        assert "Booking B-1 was finished at 10:10" in text(answer)
        signed_in.post(address("judge-side", run.pk), {**typed, "once": once(), "without_booking": "on"})
        assert Side.objects.get().wanted is None


def test_saying_which_side_it_is_by_the_page(
    bench: Bench, signed_in: Client, django_assert_max_num_queries: Any
) -> None:
    wanted = one_side(bench)
    run = stopped(bench, begun(bench))
    with at(f"{DAY} 10:45"):
        page = text(signed_in.get(address("judge-as-logged", run.pk)))
        assert "No side was logged since on Lathe" in page
        side = cut(bench, wanted=wanted, sure=[f"begun-{run.pk}:stylus"])
        page = text(signed_in.get(address("judge-side", run.pk)))
        assert address("judge-as-logged", run.pk) in page
        assert address("judge-as-logged", run.pk) in text(signed_in.get(run.get_absolute_url()))
        with django_assert_max_num_queries(13):
            page = text(signed_in.get(address("judge-as-logged", run.pk)))
        assert "B-1 B, ended 10:45 on 3 March, 20:00. Good. Lot L1, by Edvin Maarsk" in page
        answer = signed_in.post(address("judge-as-logged", run.pk), {"once": once(), "side": side.pk})
        assert answer["Location"] == side.get_absolute_url()
        run.refresh_from_db()
        assert run.side == side
        again = signed_in.get(address("judge-as-logged", run.pk))
        assert again["Location"] == run.get_absolute_url()


def test_one_that_runs_is_not_judged_by_the_page(bench: Bench, signed_in: Client) -> None:
    run = begun(bench)
    with at(f"{DAY} 10:10"):
        assert signed_in.get(address("judge-as-logged", run.pk))["Location"] == run.get_absolute_url()
        answer = signed_in.post(address("judge-as-logged", run.pk), {"once": once(), "side": "1"})
        assert answer.status_code == 422
        run.refresh_from_db()
        assert run.is_running
