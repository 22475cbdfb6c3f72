"""No order of start, stop, judge, drop, log and withdraw on one lathe leaves a person without a way on, takes two
blanks for one cut unasked, or closes a booking over a side that is under way.

The sequences and the model are those of test_machine, with these steps and a booking of one side.
"""

from datetime import timedelta

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule, run_state_machine_as_test

from shop.cutting import actions
from shop.cutting.actions import WantedSide
from shop.cutting.models import Booking, Life, RunningSide, Side
from shop.stock.models import Lot
from tests.cutting.makers import make_booking, side_facts
from tests.cutting.test_machine import WHO, Lathe

#: The booked side, or a cut without a booking.
WANTED = st.sampled_from([0, 1])
LONGEST = 2 * 3600
#: The time given may be off by so much.
ROUNDING = timedelta(minutes=1)


class UnderWay(Lathe):
    """The same lathe, at which sides are started; `wanted_of` and `lot_of` are what each was started for and on."""

    #: Steps that test_machine takes, and that are left out here, for sequences in which more is under way.
    log = log_one_that_can_be = fit = take_off = send_away = take_back = retire = None  # type: ignore[assignment]
    reset = hold_or_release = order = count_in = None  # type: ignore[assignment]

    def __init__(self) -> None:
        super().__init__()
        self.wanted_of: dict[int, int | None] = {}
        self.lot_of: dict[int, int] = {}

    def book(self) -> None:
        booking = make_booking(self.people[0], [WantedSide("A", 1200)])
        self.wanted = [*booking.wanted.order_by("label"), None]

    def is_booked_out(self) -> bool:
        """Whether every side of the booking has a good cut that stands, and none of them is under way."""
        cut = Side.objects.filter(pk__in=self.standing, outcome="good").values_list("wanted", flat=True)
        booked = {one.pk for one in self.wanted if one is not None}
        return booked <= set(cut) and not any(self.wanted_of[pk] is not None for pk in self.begun)

    def runs(self) -> int | None:
        return next((pk for pk, (_, stopped) in self.begun.items() if stopped is None), None)

    # Logging beside them ----------------------------------------------------------------------------------------------

    def may_log_beside(self, cut_s, wanted):
        if self.runs() is not None or (wanted is not None and self.is_booked_out()):
            return False
        ended = (self.now + timedelta(minutes=7)).replace(second=0)
        begun = (self.now + timedelta(minutes=7) - timedelta(seconds=cut_s)).replace(second=0)
        for pk, (started, stopped) in self.begun.items():
            shared = min(ended - started.replace(second=0), stopped.replace(second=0) - begun)
            if shared > ROUNDING or (wanted is not None and self.wanted_of[pk] == wanted.pk):
                return False
        return True

    @precondition(lambda self: self.head is not None and any(self.on_hand.values()))
    @rule(who=st.integers(0, 2), outcome=st.sampled_from(["good", "rejected"]), cut_s=st.integers(5, 1200), side=WANTED)
    def log_beside(self, who, outcome, cut_s, side):
        lot, sides = next(pk for pk, left in self.on_hand.items() if left), len(self.standing)
        self._log(who, lot, outcome, cut_s, self.head, True, "it is for a rehearsal", self.wanted[side])
        if len(self.standing) > sides:  # a second blank for what may be one cut was asked about
            assert {f"begun-{pk}:stylus" for pk in self.begun} <= set(self.last[3].get("sure", []))

    # From the head down to what became of it --------------------------------------------------------------------------

    @rule(who=WHO, lot=st.integers(0, 3), side=WANTED, overrule=st.sampled_from(["", "it is for a rehearsal"]))
    def start(self, who, lot, side, overrule):
        lots, wanted = sorted(self.on_hand), self.wanted[side]
        lot = lots[lot % len(lots)]
        should = (
            self.may(who)
            and self.head is not None
            and self.runs() is None
            and self.on_hand[lot] > sum(self.lot_of[pk] == lot for pk in self.begun)
            and (lot not in self.held or (self.people[who].is_engineer and bool(overrule)))
            and not (wanted is not None and self.is_booked_out())
        )
        facts = side_facts(self.bench, lot=Lot.objects.get(pk=lot), wanted=wanted, overrule=overrule)
        facts = {name: value for name, value in facts.items() if name not in ("outcome", "cut_s")}
        if run := self.press(actions.start_side, should=should, who=who, **facts):
            assert run.started_at == self.now
            self.begun[run.pk] = (self.now, None)
            self.wanted_of[run.pk] = wanted.pk if wanted is not None else None
            self.lot_of[run.pk] = lot

    @precondition(lambda self: self.runs() is not None)
    @rule(who=WHO)
    def stop(self, who):
        run = RunningSide.objects.get(pk=self.runs())
        if self.press(actions.stop_side, should=self.may(who), who=who, run=run):
            self.begun[run.pk] = (self.begun[run.pk][0], self.now)

    @rule(who=st.integers(0, 2), lot=st.integers(0, 1), side=WANTED)
    def start_and_stop(self, who, lot, side):
        self.start(who, lot, side, "")
        if self.runs() is not None:
            self.stop(who)

    def _drawn(self, data) -> RunningSide:
        return RunningSide.objects.get(pk=data.draw(st.sampled_from(sorted(self.begun))))

    @precondition(lambda self: self.begun and any(self.on_hand.values()))
    @rule(who=WHO, data=st.data(), outcome=st.sampled_from(["good", "good", "rejected", "test"]), short=st.booleans())
    def judge(self, who, data, outcome, short):
        self._judge(self._drawn(data), who, outcome, short=short)

    @precondition(lambda self: self.begun and self.runs() is None and any(self.on_hand.values()))
    @rule(who=st.integers(0, 2))
    def judge_the_first(self, who):
        self._judge(RunningSide.objects.get(pk=min(self.begun)), who, "good", short=False)

    def _judge(self, run, who, outcome, *, short):
        """Whatever else was pressed meanwhile: what was stopped can be judged, while there is a blank for it."""
        started, stopped = self.begun[run.pk]
        lot = self.lot_of[run.pk] if self.on_hand[self.lot_of[run.pk]] else None
        lot = lot or next(pk for pk, left in self.on_hand.items() if left)
        ran = round((stopped - started).total_seconds()) if stopped is not None else 1
        cut_s = min(1200, ran) if short or ran > LONGEST else ran
        is_looked_at = cut_s == ran and lot == self.lot_of[run.pk]
        should = self.may(who) and stopped is not None
        should = should and (is_looked_at or lot not in self.held or self.people[who].is_engineer)
        said = {"outcome": outcome, "reject_reason": self.bench.reason, "cut_s": cut_s, "lot": Lot.objects.get(pk=lot)}
        why = {"overrule": "it is for a rehearsal"} if self.people[who].is_engineer else {}
        side = self.press(actions.judge_side, should=should, who=who, run=run, **said, **why)
        if side is None:
            return
        assert (side.wanted_id, side.lathe, side.cut_s) == (self.wanted_of[run.pk], self.bench.lathe, cut_s)
        assert side.at == started + timedelta(seconds=cut_s)
        self.on_hand[lot] -= 1
        self.standing[side.pk] = (who, self._stylus(side.life))
        self._settled(run)

    def _stylus(self, life: Life) -> int:
        return next(place for place, one in enumerate(self.styli) if one.pk == life.stylus_id)

    @precondition(lambda self: self.begun)
    @rule(who=WHO, data=st.data(), why=st.sampled_from(["the head never went down", ""]))
    def drop(self, who, data, why):
        run = self._drawn(data)
        if self.press(actions.drop_side, should=self.may(who) and bool(why), who=who, run=run, why=why):
            self._settled(run)

    @precondition(lambda self: self.begun and self.standing)
    @rule(who=WHO, data=st.data())
    def say_it_is_logged(self, who, data):
        run = self._drawn(data)
        side = Side.objects.get(pk=data.draw(st.sampled_from(sorted(self.standing))))
        started, stopped = self.begun[run.pk]
        may_be = (
            stopped is not None
            and side.recorded_at >= started
            and side.life_id == run.life_id
            and None in (side.wanted_id, run.wanted_id, *([None] if side.wanted_id == run.wanted_id else []))
            and not RunningSide.objects.filter(side=side).exists()
        )
        if self.press(actions.judge_as_logged, should=self.may(who) and may_be, who=who, run=run, side=side):
            self._settled(run)  # and nothing else: the invariants count blanks, hours and chip

    def _settled(self, run: RunningSide) -> None:
        del self.begun[run.pk]
        assert not RunningSide.objects.get(pk=run.pk).is_open

    # What must always hold --------------------------------------------------------------------------------------------

    @invariant()
    def what_is_under_way_is_what_was_begun(self):
        there = RunningSide.objects.filter(side=None, dropped_at=None)
        assert set(there.values_list("pk", flat=True)) == set(self.begun)
        logged = RunningSide.objects.exclude(side=None).values_list("side", flat=True)
        assert len(set(logged)) == len(logged)

    @invariant()
    def a_booking_is_finished_once_nothing_of_it_is_left(self):
        for booking in Booking.objects.all():
            assert booking.is_open != self.is_booked_out()


@pytest.mark.django_db
def test_no_order_leaves_a_side_without_a_way_on_or_takes_two_blanks_unasked():
    run_state_machine_as_test(UnderWay, settings=settings(max_examples=25, stateful_step_count=25, deadline=None))
