"""One lathe cuts one side at a time: what cannot be is refused, what minutes may make of two in a row is asked."""

from datetime import timedelta

import pytest

from shop.cutting import actions
from shop.cutting.actions import WantedSide
from shop.refusal import Doubtful, Refused
from tests.cutting.makers import cut, make_booking, make_stylus, once, side_facts, start
from tests.makers import at, moment

pytestmark = pytest.mark.django_db


def test_two_sides_that_end_in_the_same_minute_on_one_lathe_are_asked_about(bench):
    booking = make_booking(bench.engineer, [WantedSide("A", 60)], code="B-7")
    wanted = booking.wanted.first()
    first = cut(bench, wanted=wanted, cut_s=60, at=moment("2025-03-03 09:30"))

    def log(minute, **other):
        facts = side_facts(bench, at=moment(f"2025-03-03 {minute}"), cut_s=60, **other)
        return actions.log_side(by=bench.engineer, once=once(), **facts)

    for minute in ("09:30:00", "09:30:59"):
        with pytest.raises(Doubtful, match="B-7 A is logged on Lathe as ended at 09:30 on 3 March too") as asked:
            log(minute)
        assert [(doubt.key, doubt.field) for doubt in asked.value.doubts] == [(f"same-minute-{first.pk}:at", "at")]
    log("09:31")
    log("09:29:59")
    second = actions.add_lathe(by=bench.engineer, once=once(), name="Second lathe")
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=other, lathe=second, at=moment("2025-03-03 09:00"))
    assert log("09:30", lathe=second).life.stylus == other
    actions.withdraw_side(by=bench.engineer, once=once(), side=first, reason="twice")
    log("09:30")


def test_a_side_that_was_cut_while_another_was_on_that_lathe_is_refused(bench):
    booking = make_booking(bench.engineer, code="B-7")
    first = cut(bench, wanted=booking.wanted.first(), at=moment("2025-03-03 09:30"))

    def log(ended, **other):
        facts = side_facts(bench, at=moment(f"2025-03-03 {ended}"), **other)
        return actions.log_side(by=bench.engineer, once=once(), **facts)

    over = {
        "09:48": "This would have begun at 09:28 on 3 March, before B-7 A ended at 09:30 on 3 March.",
        "09:29": "B-7 A was begun at 09:10 on 3 March, before this one ended at 09:29 on 3 March.",
        "09:30": "B-7 A is logged on Lathe as ended at 09:30 on 3 March too.",
    }
    for ended, words in over.items():
        with pytest.raises(Refused, match=words) as refused:
            log(ended, sure=[f"meanwhile-{first.pk}:at", f"same-minute-{first.pk}:at"])
        assert not isinstance(refused.value, Doubtful)
        assert refused.value.field == "at"
        assert "One lathe cuts one side at a time" in refused.value.sentence
    with pytest.raises(Refused):
        log("09:20", cut_s=60)  # however short: it lies in the midst of the other
    # times are given by the minute: what a minute may make is asked about
    for ended in ("09:49", "09:11"):
        with pytest.raises(Doubtful) as asked:
            log(ended)
        assert [(doubt.key, doubt.field) for doubt in asked.value.doubts] == [(f"meanwhile-{first.pk}:at", "at")]
    for follows in (log("09:50"), log("09:10:59")):
        actions.withdraw_side(by=bench.engineer, once=once(), side=follows, reason="for the test")
    log("09:49", sure=[f"meanwhile-{first.pk}:at"])
    second = actions.add_lathe(by=bench.engineer, once=once(), name="Second lathe")
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=other, lathe=second, at=moment("2025-03-03 09:00"))
    assert log("09:40", lathe=second).life.stylus == other
    actions.withdraw_side(by=bench.engineer, once=once(), side=first, reason="for the test")
    assert log("09:29").pk


def test_a_side_without_a_time_is_not_logged_over_one_of_a_moment_ago(bench):
    first = cut(bench)
    with pytest.raises(Doubtful, match="ended at 10:00 on 3 March too"):
        actions.log_side(by=bench.engineer, once=once(), **side_facts(bench))
    with at("2025-03-03 10:02"):
        with pytest.raises(Refused, match="This would have begun at 09:42"):
            cut(bench)
        assert cut(bench, at=first.at - timedelta(minutes=20)).pk


def test_a_withdrawn_side_was_in_nobodys_way(bench):
    first = cut(bench, at=moment("2025-03-03 09:30"))
    actions.withdraw_side(by=bench.engineer, once=once(), side=first, reason="twice")
    facts = side_facts(bench, at=moment("2025-03-03 09:40"))
    assert actions.log_side(by=bench.engineer, once=once(), **facts)


def test_a_side_that_overlaps_one_logged_meanwhile_is_refused(bench):
    with at("2025-03-03 10:20:00"):
        logged = cut(bench, at=moment("2025-03-03 10:15"), cut_s=300)
    with at("2025-03-03 10:30:00"):  # two presses that waited for a connection
        run = start(bench, pressed_at=moment("2025-03-03 10:00"))
        actions.stop_side(by=bench.engineer, once=once(), run=run, pressed_at=moment("2025-03-03 10:20"))
        run.refresh_from_db()
        said = {"run": run, "outcome": "good", "cut_s": 1200, "lot": bench.lot}
        with pytest.raises(Refused, match="One lathe cuts one side at a time"):
            actions.judge_side(by=bench.engineer, once=once(), **said)
        actions.withdraw_side(by=bench.engineer, once=once(), side=logged, reason="for the run")
        assert actions.judge_side(by=bench.engineer, once=once(), **said).at == run.stopped_at
