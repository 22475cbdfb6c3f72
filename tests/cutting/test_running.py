"""Cutting a side from start to outcome: started, stopped, judged or not cut, on one lathe or two."""

import re
from collections.abc import Callable
from datetime import UTC, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.actions import WantedSide, WantedTitle
from shop.cutting.concerns import concerns
from shop.cutting.models import BookingSide, Lathe, RunningSide, Side, Stylus
from shop.people.models import Person
from shop.refusal import Doubtful, NotAllowed, NotEnough, Refused
from shop.stock import actions as stock
from tests.cutting.makers import Bench, address, cut, make_booking, make_stylus, once, text
from tests.makers import at

pytestmark = pytest.mark.django_db

START = "2025-03-03 10:00:00"


def start(bench: Bench, by: Person | None = None, **other: Any) -> RunningSide:
    facts = {
        "wanted": None,
        "lathe": bench.lathe,
        "lot": bench.lot,
        "disc_in": 12,
        "speed": "33",
        "pitch_um": 125.0,
        "width_um": 56.0,
    }
    return actions.start_side(by=by or bench.engineer, once=once(), **facts | other)


def start_booked(bench: Bench, wanted: BookingSide, **other: Any) -> RunningSide:
    return start(bench, **{"wanted": wanted, "pitch_um": None} | other)


def stop(bench: Bench, run: RunningSide, **other: Any) -> RunningSide:
    return actions.stop_side(by=bench.engineer, once=once(), run=run, **other)


def judge(bench: Bench, run: RunningSide, by: Person | None = None, **other: Any) -> Side:
    run.refresh_from_db()
    facts = {"outcome": "good", "cut_s": actions.seconds_of(run) if run.stopped_at else 1, "lot": run.lot}
    return actions.judge_side(by=by or bench.engineer, once=once(), run=run, **facts | other)


def wanted_side(bench: Bench, seconds: int = 1200, **other: Any) -> BookingSide:
    booking = make_booking(bench.engineer, [WantedSide("A", seconds)], **other)
    return booking.wanted.get()


def second_lathe(bench: Bench) -> tuple[Lathe, Stylus]:
    lathe = actions.add_lathe(by=bench.engineer, once=once(), name="Lathe 2")
    stylus = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=stylus, lathe=lathe)
    return lathe, stylus


# From start to outcome ------------------------------------------------------------------------------------------------


def test_a_side_is_logged_with_the_time_it_ran(bench: Bench) -> None:
    wanted = wanted_side(bench)
    with at("2025-03-03 10:00:00"):
        run = start_booked(bench, wanted)
        assert not Side.objects.exists()
        bench.lot.refresh_from_db()
        assert bench.lot.on_hand == 300
    with at("2025-03-03 10:20:10"):
        stop(bench, run)
    with at("2025-03-03 10:31"):
        side = judge(bench, run, cut_text="LS-1 A")
    assert (side.cut_s, side.wanted, side.outcome, side.cut_text) == (1210, wanted, "good", "LS-1 A")
    assert side.at == run.started_at + timedelta(seconds=1210)
    bench.lot.refresh_from_db()
    side.life.refresh_from_db()
    assert bench.lot.on_hand == 299
    assert side.life.cut_s == 1210
    run.refresh_from_db()
    assert run.side == side
    assert not run.is_open


def test_a_rejected_one_costs_blank_stylus_and_says_why(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        run = start(bench)
    with at("2025-03-03 10:04:00"):
        stop(bench, run)
        side = judge(bench, run, outcome="rejected", reject_reason=bench.reason)
    assert (side.reject_reason, side.movement.kind, side.life.stylus) == (bench.reason, "spoiled", bench.stylus)


def test_stopping_twice_is_one_record(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        run = start(bench)
    with at("2025-03-03 10:20:00"):
        first = stop(bench, run)
    with at("2025-03-03 10:25:00"):
        second = stop(bench, run)
    assert first.stopped_at == second.stopped_at


def test_stopping_what_is_logged_changes_nothing(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        run = start(bench)
    with at("2025-03-03 10:20:00"):
        stop(bench, run)
        side = judge(bench, run)
    with at("2025-03-03 10:25:00"):
        assert stop(bench, run).side == side


def test_pressing_start_twice_is_one_side(bench: Bench) -> None:
    token = once()
    facts: dict[str, Any] = {"wanted": None, "lathe": bench.lathe, "lot": bench.lot, "disc_in": 12, "speed": "33"}
    runs = {
        actions.start_side(by=bench.engineer, once=token, **facts, pitch_um=125.0, width_um=56.0).pk for _ in range(2)
    }
    assert len(runs) == 1


def test_a_press_that_waited_for_a_connection_counts_from_when_it_was_made(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        run = start(bench)
        then = clock.now() + timedelta(minutes=20)
    with at("2025-03-03 10:45:00"):
        assert stop(bench, run, pressed_at=then).stopped_at == then


@pytest.mark.parametrize("off", [timedelta(minutes=5), -timedelta(hours=4)])
def test_a_press_from_the_future_or_long_ago_counts_as_now(bench: Bench, off: timedelta) -> None:
    with at("2025-03-03 10:00:00"):
        assert start(bench, pressed_at=clock.now() + off).started_at == clock.now()


def test_a_stop_before_the_start_takes_no_time_away(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        run = start(bench)
        assert stop(bench, run, pressed_at=clock.now() - timedelta(minutes=3)).stopped_at == run.started_at


def test_another_length_moves_the_end(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        run = start(bench)
    with at("2025-03-03 12:00:00"):
        stop(bench, run)
        side = judge(bench, run, cut_s=1180)
    assert side.at == run.started_at + timedelta(seconds=1180)


def test_a_length_that_ends_in_the_future_is_refused(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        run = start(bench)
    with at("2025-03-03 10:10:00"):
        stop(bench, run)
        with pytest.raises(Refused, match="not that long ago"):
            judge(bench, run, cut_s=1200)


@pytest.mark.parametrize("when", ["2025-03-30 01:50:00", "2025-10-26 02:50:00"])
def test_an_hour_that_the_clocks_skip_or_repeat_is_cut_for_as_long_as_it_lasts(bench: Bench, when: str) -> None:
    with at(when):
        run = start(bench)
        later = clock.now().astimezone(UTC) + timedelta(minutes=20)
    with clock.moved(later):
        stop(bench, run)
        assert judge(bench, run).cut_s == 1200


# What is refused ------------------------------------------------------------------------------------------------------


def test_one_side_runs_on_a_lathe(bench: Bench) -> None:
    start(bench)
    with pytest.raises(Refused, match="runs on Lathe since"):
        start(bench)


def test_the_database_holds_it_too(bench: Bench) -> None:
    run = start(bench)
    run.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        run.save(force_insert=True)


def test_two_lathes_keep_their_styli_apart(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        lathe, stylus = second_lathe(bench)
        with pytest.raises(Refused, match="R-2 was not in the head of Lathe"):
            start(bench, stylus=stylus)
        one, other = start(bench), start(bench, lathe=lathe, stylus=stylus)
    with at("2025-03-03 10:15:00"):
        stop(bench, other)
    with at("2025-03-03 10:20:00"):
        stop(bench, one)
        assert judge(bench, other).life.stylus == stylus
        assert judge(bench, one).life.stylus == bench.stylus
    bench.stylus.refresh_from_db()
    assert [life.cut_s for life in (bench.stylus.lives.get(), stylus.lives.get())] == [1200, 900]


def test_an_empty_head_starts_nothing(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    with at("2025-03-03 10:05:00"), pytest.raises(Refused, match="No stylus was in the head"):
        start(bench)


def test_a_stylus_stays_in_its_head_while_it_cuts(bench: Bench) -> None:
    with at("2025-03-03 10:00:00"):
        run = start(bench)
    with at("2025-03-03 10:05:00"):
        for leave in (actions.take_off_stylus, lambda **rest: actions.retire_stylus(**rest, reason="worn")):
            with pytest.raises(Refused, match="is cutting"):
                leave(by=bench.engineer, once=once(), stylus=bench.stylus)
        stop(bench, run)
        actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
        assert judge(bench, run).life.stylus == bench.stylus


def test_a_booking_stays_open_while_its_side_is_cut(bench: Bench) -> None:
    wanted = wanted_side(bench)
    run = start_booked(bench, wanted)
    for close in (actions.finish_booking, actions.cancel_booking):
        with pytest.raises(Refused, match="is under way"):
            close(by=bench.engineer, once=once(), booking=wanted.booking)
    actions.drop_side(by=bench.engineer, once=once(), run=run, why="the head never went down")
    actions.cancel_booking(by=bench.engineer, once=once(), booking=wanted.booking)


def test_a_side_that_was_started_stays_in_its_booking(bench: Bench) -> None:
    booking = make_booking(bench.engineer)
    start_booked(bench, booking.wanted.get(label="B"))
    with pytest.raises(Refused, match="Side B was started"):
        actions.change_booking(
            by=bench.engineer,
            once=once(),
            booking=booking,
            version=booking.version,
            code=booking.code,
            title=booking.title,
            cut_on=booking.cut_on,
            sides=[WantedSide("A", 1200)],
        )


def test_a_side_that_does_not_fit_is_refused_before_it_is_cut(bench: Bench, assistant: Person) -> None:
    wanted = wanted_side(bench, 2400)
    with pytest.raises(Refused, match="an engineer may overrule"):
        start_booked(bench, wanted, by=assistant, pitch_um=100.0)
    with at("2025-03-03 10:00:00"):
        with pytest.raises(Doubtful, match="does not fit") as asked:
            start_booked(bench, wanted, pitch_um=100.0, overrule="customer knows")
        sure = [doubt.key for doubt in asked.value.doubts]
        run = start_booked(bench, wanted, pitch_um=100.0, overrule="customer knows", sure=sure)
    with at("2025-03-03 10:40:00"):
        stop(bench, run)
        assert judge(bench, run, by=assistant).overruled == "customer knows"


def test_the_last_blank_is_not_promised_twice(bench: Bench) -> None:
    stock.use_stock(by=bench.engineer, once=once(), lot=bench.lot, quantity=299)
    lathe, _ = second_lathe(bench)
    start(bench)
    with pytest.raises(NotEnough, match="no blank left for it"):
        start(bench, lathe=lathe)


def test_a_held_lot_starts_nothing(bench: Bench, assistant: Person) -> None:
    stock.hold_lot(by=bench.engineer, once=once(), lot=bench.lot, why="dull")
    with pytest.raises(Refused):
        start(bench, by=assistant)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"speed": "300"}, "speed"),
        ({"disc_in": 11}, "disc_in"),
        ({"pitch_um": 50.0}, "pitch_um"),
        ({"width_um": 2.0}, "width_um"),
    ],
)
def test_what_no_lathe_cuts_is_refused(bench: Bench, wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(Refused) as refused:
        start(bench, **wrong)
    assert refused.value.field == field


def test_what_still_runs_is_not_judged(bench: Bench) -> None:
    with pytest.raises(Refused, match="still runs"):
        judge(bench, start(bench))


def test_what_was_judged_is_judged_once(bench: Bench) -> None:
    run = start(bench)
    stop(bench, run)
    judge(bench, run)
    with pytest.raises(Refused, match="said already"):
        judge(bench, run)
    with pytest.raises(Refused, match="Withdraw the side"):
        actions.drop_side(by=bench.engineer, once=once(), run=run, why="no")


def test_what_was_not_cut_takes_nothing(bench: Bench) -> None:
    run = start(bench)
    actions.drop_side(by=bench.engineer, once=once(), run=run, why="the programme was not ready")
    assert not Side.objects.exists()
    for act in (stop, judge):
        with pytest.raises(Refused, match="It was not cut, as Edvin Maarsk said"):
            act(bench, run)
    start(bench)  # the lathe is free


def test_a_visitor_starts_and_stops_nothing(bench: Bench, visitor: Person) -> None:
    run = start(bench)
    with pytest.raises(NotAllowed):
        start(bench, by=visitor)
    with pytest.raises(NotAllowed):
        actions.stop_side(by=visitor, once=once(), run=run)


# What is asked --------------------------------------------------------------------------------------------------------


def test_a_side_nobody_judged_is_asked_about(bench: Bench) -> None:
    run = start(bench)
    stop(bench, run)
    with pytest.raises(Doubtful, match="Nobody has said what became of"):
        start(bench)
    start(bench, sure=[f"unjudged-{run.pk}:stylus"])


def test_an_edge_in_doubt_is_asked_about(bench: Bench) -> None:
    noisy = actions.add_reject_reason(by=bench.engineer, once=once(), name="Noisy groove", blame="stylus")
    cut(bench, outcome="rejected", reject_reason=noisy)
    with pytest.raises(Doubtful, match="nobody has looked its edge over"):
        start(bench)


def test_another_blank_or_speed_than_booked_is_asked_about(bench: Bench) -> None:
    wanted = wanted_side(bench, 500)
    with pytest.raises(Doubtful, match="is booked at 33"):
        start_booked(bench, wanted, speed="45")


# What is left open ----------------------------------------------------------------------------------------------------


def keys(word: str) -> list[str]:
    return [one.headline for one in concerns(clock.now()) if word in one.key]


def test_a_side_left_running_overnight_is_pointed_out(bench: Bench) -> None:
    with at("2025-03-03 17:20"):
        run = start_booked(bench, wanted_side(bench, code="LS-9"))
        assert keys("left") == []
    with at("2025-03-04 08:00"):
        assert keys("left") == ["LS-9 A on Lathe was never stopped"]
        stop(bench, run)
        assert keys("left") == ["Nobody has said what became of LS-9 A on Lathe"]
        judge(bench, run, cut_s=1200)
        assert keys("left") == []


def test_one_that_was_stopped_today_is_no_worry_yet(bench: Bench) -> None:
    with at("2025-03-03 10:00"):
        stop(bench, start(bench))
        assert keys("left") == []


def test_one_left_running_past_the_longest_side_is_pointed_out_the_same_day(bench: Bench) -> None:
    with at("2025-03-03 10:00"):
        start(bench)
    with at("2025-03-03 12:30"):
        assert len(keys("left")) == 1


# The pages ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def signed_in(bench: Bench, client_of: Callable[[Person], Client]) -> Client:
    return client_of(bench.engineer)


def typed(bench: Bench, **other: Any) -> dict[str, Any]:
    fitting = bench.lathe.fittings.get(off_at=None)
    facts = {"once": once(), "stylus": fitting.pk, "lot": bench.lot.pk, "disc_in": 12, "speed": "33", "width_um": "56"}
    return facts | other


def test_a_side_from_page_to_page(bench: Bench, signed_in: Client) -> None:
    wanted = wanted_side(bench)
    with at("2025-03-03 10:00:00"):
        page = text(signed_in.get(address("start-side")))
        assert "side A" in page
        answer = signed_in.post(address("start-side"), typed(bench, wanted=wanted.pk))
        run = RunningSide.objects.get()
        assert answer["Location"] == run.get_absolute_url()
    with at("2025-03-03 10:10:00"):
        page = text(signed_in.get(run.get_absolute_url()))
        assert "10:00:00" in page  # without script, the time it was started
        assert re.search(r"By the plan the head comes up after 20:(0\d|1\d)\.", page)
        assert run.get_absolute_url() in text(signed_in.get(address("start-side")))
    with at("2025-03-03 10:20:00"):
        pressed = round(clock.now().timestamp() * 1000) - 1500
        answer = signed_in.post(address("stop-side", run.pk), {"once": once(), "pressed_at": str(pressed)})
        assert answer["Location"] == address("judge-side", run.pk)
        page = text(signed_in.get(address("judge-side", run.pk)))
        assert 'value="19:59"' in page or 'value="19:58"' in page
        answer = signed_in.post(
            address("judge-side", run.pk), {"once": once(), "outcome": "good", "cut_s": "19:58", "lot": bench.lot.pk}
        )
    side = Side.objects.get()
    assert answer["Location"] == side.get_absolute_url()
    assert signed_in.get(run.get_absolute_url())["Location"] == side.get_absolute_url()
    assert signed_in.get(address("judge-side", run.pk)).status_code == 302


@pytest.mark.parametrize("junk", ["", "x", "-5", "99999999999999999", "1e9", "٣"])
def test_a_pressed_time_that_is_none_is_now(bench: Bench, signed_in: Client, junk: str) -> None:
    run = start(bench)
    signed_in.post(address("stop-side", run.pk), {"once": once(), "pressed_at": junk})
    run.refresh_from_db()
    assert run.stopped_at == clock.now()


def test_a_side_left_overnight_asks_how_long_it_was_cut(bench: Bench, signed_in: Client) -> None:
    with at("2025-03-03 17:00"):
        run = start(bench)
    with at("2025-03-04 08:00"):
        stop(bench, run)
        page = text(signed_in.get(address("judge-side", run.pk)))
        assert "too late to tell" in page
        answer = signed_in.post(address("judge-side", run.pk), {"once": once(), "outcome": "good", "lot": bench.lot.pk})
    assert answer.status_code == 422


def test_not_cut_by_the_page(bench: Bench, signed_in: Client) -> None:
    run = start(bench)
    signed_in.post(address("drop-side", run.pk), {"once": once(), "why": "never went down"})
    assert "never went down" in text(signed_in.get(run.get_absolute_url()))


def test_a_visitor_sees_it_run_and_has_no_button(
    bench: Bench, visitor: Person, client_of: Callable[[Person], Client]
) -> None:
    run = start(bench)
    page = text(client_of(visitor).get(run.get_absolute_url()))
    assert "Started" in page
    assert "data-stamp" not in page


def test_titles_and_the_stylus_stand_with_their_times(bench: Bench, signed_in: Client) -> None:
    titles = [WantedTitle(300, "Ferry Song"), WantedTitle(300, "Salt")]
    wanted = make_booking(bench.engineer, [WantedSide("A", None, titles=titles)]).wanted.get()
    with at("2025-03-03 10:00:00"):
        page = text(signed_in.get(start_booked(bench, wanted).get_absolute_url()))
    assert "2 Salt" in page
    assert "10:05:05" in page  # lead-in 3.6 s, 300 s, pause 2 s
    assert "R-1 is likely to finish this side" in page


def test_the_advice_changes_while_it_runs(bench: Bench) -> None:
    """A stylus that passes the hours expected of it in the middle of the side."""
    life = bench.stylus.lives.get()
    life.cut_s = 12 * 3600 - 600
    life.save(update_fields=["cut_s"])
    with at("2025-03-03 10:00:00"):
        run = queries.runs().get(pk=start_booked(bench, wanted_side(bench)).pk)
        marks = queries.plan_of_run(run, clock.today(), 0.05).advice
    assert "past the 12 h" not in marks[0].words
    assert "past the 12 h" in marks[-1].words
    assert marks[-1].seconds == 660  # the whole minute after it


def test_the_start_page_asks_few_questions(bench: Bench, signed_in: Client, django_assert_max_num_queries: Any) -> None:
    for _ in range(8):
        make_booking(bench.engineer)
    signed_in.get(address("start-side"))
    with django_assert_max_num_queries(16):
        signed_in.get(address("start-side"))
