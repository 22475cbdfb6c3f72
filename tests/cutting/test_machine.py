"""Any sequence of presses about sides, styli, meters and blanks keeps what must always hold.

Hypothesis draws the sequence; beside it runs a plain model that knows what each press must come to. Sides that are
started, stopped and judged join in test_machine_under_way.
"""

from collections import Counter
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from django.db.models import Count, Sum
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from shop import clock
from shop.cutting import actions
from shop.cutting.models import Away, Fitting, Life, Side, Stylus, Withdrawal
from shop.duties import actions as duties
from shop.duties.models import Meter, Tick
from shop.people.models import Role
from shop.press.models import Line, Press
from shop.refusal import Doubtful, NotAllowed, Refused, TokenTrouble
from shop.stock import actions as stock
from shop.stock import queries
from shop.stock.models import Lot, Movement, Order, OrderLine, OrderStep
from tests import makers
from tests.cutting.makers import make_bench, make_stylus, once, side_facts
from tests.duties.makers import make_meter
from tests.stock.makers import make_order, send_order

TABLES = (Side, Withdrawal, Fitting, Life, Away, Movement, Lot, Tick, Press, Line, Order, OrderStep)
#: The owner and the assistant log most; the visitor is refused everything.
WHO = st.sampled_from([0, 1, 1, 2, 2, 2, 3])
STYLUS = st.integers(0, 2)
#: Seconds of a side; the last three are none.
LENGTHS = st.sampled_from([60, 300, 1200, 1200, 1261, 0, -5, 10**9])
#: What becomes of the blank.
MOVES = {"good": "used", "rejected": "spoiled", "test": "tested"}
#: What a side adds to each meter.
METERS = {"chip": lambda side: side.chip_mg, "line": lambda side: side.cut_s, "cut": lambda side: side.cut_s}


class Lathe(RuleBasedStateMachine):
    """One lathe, three styli, two lots of blanks, three meters, four people, and a clock that only goes forward."""

    def __init__(self) -> None:
        super().__init__()
        # thrown away at the end; it counts as a test's, so that the actions' durable transactions may be inside it
        self.around = transaction.atomic()
        self.around._from_testcase = True  # type: ignore[attr-defined]
        self.around.__enter__()
        self.now = datetime(2025, 3, 3, 8, 0, tzinfo=ZoneInfo(makers.ZONE))
        self.head: int | None = 0
        #: of each stylus: whether its edge is "new", "open" (in use), "ended" or "fresh" (re-lapped, not fitted since)
        self.edge = ["open", "new", "new"]
        self.retired: set[int] = set()
        self.away: dict[int, bool] = {}  # and whether a life was ended by sending it
        self.held: set[int] = set()
        self.standing: dict[int, tuple[int, int]] = {}  # side: who logged it, its stylus
        self.on_hand: dict[int, int] = {}
        self.reset_at: dict[str, datetime] = {}
        self.orders: dict[int, int] = {}  # and what came of each
        self.last: tuple | None = None
        #: For test_machine_under_way: sides started and not judged, each with when it was started and stopped.
        self.begun: dict[int, tuple[datetime, datetime | None]] = {}

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.around.__exit__(None, None, None)

    @initialize()
    def open_the_room(self) -> None:
        makers.make_room()
        self.people = [makers.make_person(role, role.title(), role) for role in Role]
        with clock.moved(self.now), clock.in_zone(makers.ZONE):
            owner = self.people[0]
            self.bench = make_bench(owner, blanks=4)
            make_meter("cut")
            self.styli = [self.bench.stylus, *(make_stylus(owner, self.bench.kind, mark) for mark in ("R-2", "R-3"))]
            second = stock.receive_delivery(by=owner, once=once(), item=self.bench.item, code="L2", quantity=2)
            self.book()
        self.on_hand = {self.bench.lot.pk: 4, second.pk: 2}

    def book(self) -> None:
        """For test_machine_under_way: what is to be cut."""

    # Pressing ---------------------------------------------------------------------------------------------------------

    def state(self) -> tuple[object, ...]:
        return (
            [model.objects.count() for model in TABLES],
            list(Lot.objects.order_by("pk").values_list("on_hand", "held_at", "taken")),
            list(Life.objects.order_by("pk").values_list("cut_s", "length_mm", "sides", "ended_at")),
            list(Meter.objects.order_by("pk").values_list("value", "total", "reset_at")),
            list(Stylus.objects.order_by("pk").values_list("retired_at")),
            list(Fitting.objects.order_by("pk").values_list("off_at")),
        )

    def press(self, act, *, should: bool, who: int, **typed):
        """Press, seven minutes on; what was asked about is confirmed. None if refused, having left nothing."""
        self.now += timedelta(minutes=7)
        by, before, token = self.people[who], self.state(), once()
        result, sentence = None, ""
        with clock.moved(self.now), clock.in_zone(makers.ZONE):
            for _ in range(3):  # what speaks against the lot or the length is asked first, the rest after that
                try:
                    result = act(by=by, once=token, **typed)
                except Doubtful as asked:
                    assert self.state() == before
                    typed["sure"] = [*typed.get("sure", []), *(doubt.key for doubt in asked.doubts)]
                    continue
                except Refused as no:
                    sentence = no.sentence
                break
        if result is None:
            assert not should, f"{act.__name__} was refused ({sentence}): {typed}"
            assert sentence.endswith((".", "?")), sentence
            assert self.state() == before
            return None
        assert should, f"{act.__name__} should have been refused: {typed}"
        self.last = (act, by, token, typed, result)
        return result

    def may(self, who: int) -> bool:
        return bool(self.people[who].is_hand)

    # Sides ------------------------------------------------------------------------------------------------------------

    @rule(
        who=WHO,
        lot=st.integers(0, 3),
        outcome=st.sampled_from(["good", "good", "rejected", "test", "superb"]),
        cut_s=LENGTHS,
        saw=st.none() | STYLUS,
        why=st.booleans(),
        overrule=st.sampled_from(["", "it is for a rehearsal"]),
    )
    def log(self, who, lot, outcome, cut_s, saw, why, overrule):
        lots = sorted(self.on_hand)
        self._log(who, lots[lot % len(lots)], outcome, cut_s, saw, why, overrule)

    @precondition(lambda self: self.head is not None and any(self.on_hand.values()))
    @rule(who=st.integers(0, 2), outcome=st.sampled_from(["good", "rejected", "test"]), cut_s=st.integers(60, 1261))
    def log_one_that_can_be(self, who, outcome, cut_s):
        lot = next(pk for pk, left in self.on_hand.items() if left)
        self.now += timedelta(seconds=cut_s)
        self._log(who, lot, outcome, cut_s, self.head, True, "it is for a rehearsal")

    def _overlaps(self, cut_s: int) -> bool:
        """Whether a side of that length that ends at the next press began, by the minute, before another had ended."""
        begun = (self.now + timedelta(minutes=7) - timedelta(seconds=cut_s)).replace(second=0)
        ends = Side.objects.filter(pk__in=self.standing).values_list("at", flat=True)
        return any(end.replace(second=0) - begun > timedelta(minutes=1) for end in ends)

    def may_log_beside(self, cut_s: int, wanted) -> bool:
        """Whether what was begun leaves room for it; see test_machine_under_way."""
        return True

    def is_cutting(self, which: int | None) -> bool:
        return which == self.head and any(stopped is None for _, stopped in self.begun.values())

    def _log(self, who, lot, outcome, cut_s, saw, why, overrule, wanted=None):
        should = (
            self.may(who)
            and self.head is not None
            and saw in (None, self.head)
            and outcome in MOVES
            and (why or outcome != "rejected")
            and 0 < cut_s < 10**6
            and self.on_hand[lot] > 0
            and (lot not in self.held or (self.people[who].is_engineer and bool(overrule)))
            and not self._overlaps(cut_s)
            and self.may_log_beside(cut_s, wanted)
        )
        side = self.press(
            actions.log_side,
            should=should,
            who=who,
            **side_facts(
                self.bench,
                lot=Lot.objects.get(pk=lot),
                outcome=outcome,
                cut_s=cut_s,
                reject_reason=self.bench.reason if why else None,
                stylus=None if saw is None else self.styli[saw],
                overrule=overrule,
                wanted=wanted,
            ),
        )
        if side is not None:
            assert (side.movement.kind, side.movement.change) == (MOVES[outcome], -1)
            assert side.life.stylus == self.styli[self.head]
            self.on_hand[lot] -= 1
            self.standing[side.pk] = (who, self.head)

    @precondition(lambda self: Side.objects.exists())
    @rule(who=WHO, data=st.data(), reason=st.sampled_from(["logged twice", "logged twice", ""]))
    def withdraw(self, who, data, reason):
        side = Side.objects.get(pk=data.draw(st.sampled_from(sorted(Side.objects.values_list("pk", flat=True)))))
        logged_by, _ = self.standing.get(side.pk, (None, None))
        soon = self.now + timedelta(minutes=7) - side.recorded_at <= timedelta(minutes=10)
        mine = self.people[who].is_engineer or (self.may(who) and logged_by == who and soon)
        should = bool(reason) and side.pk in self.standing and mine
        if self.press(actions.withdraw_side, should=should, who=who, side=side, reason=reason):
            del self.standing[side.pk]
            self.on_hand[side.lot_id] += 1

    # Styli ------------------------------------------------------------------------------------------------------------

    @rule(who=WHO, which=STYLUS)
    def fit(self, who, which):
        free = self.head is None and which not in self.retired and which not in self.away
        should = self.may(who) and free and self.edge[which] != "ended"
        if self.press(actions.fit_stylus, should=should, who=who, stylus=self.styli[which], lathe=self.bench.lathe):
            self.head, self.edge[which] = which, "open"

    @rule(who=WHO, which=STYLUS)
    def take_off(self, who, which):
        should = self.may(who) and self.head == which and not self.is_cutting(which)
        if self.press(actions.take_off_stylus, should=should, who=who, stylus=self.styli[which]):
            self.head = None

    @rule(who=WHO, which=STYLUS, reason=st.sampled_from(["worn", "chipped", "", "lost"]))
    def send_away(self, who, which, reason):
        is_open = self.edge[which] == "open"
        should = self.may(who) and which not in self.retired and which not in self.away and reason != "lost"
        should = should and (not is_open or bool(reason)) and not self.is_cutting(which)
        sent = {"stylus": self.styli[which], "sent_to": "Quillmoor Edges", "reason": reason}
        if self.press(actions.send_stylus_away, should=should, who=who, **sent):
            self.away[which] = is_open
            self._ended(which)

    @precondition(lambda self: self.away)
    @rule(who=WHO, data=st.data(), came_back=st.sampled_from(["fresh", "as_sent", "never", "somehow"]))
    def take_back(self, who, data, came_back):
        which = data.draw(st.sampled_from(sorted(self.away)))
        should = self.may(who) and came_back != "somehow"
        if not self.press(
            actions.take_stylus_back, should=should, who=who, stylus=self.styli[which], came_back=came_back
        ):
            return
        ended_by_that = self.away.pop(which)
        if came_back == "never":
            self.retired.add(which)
        elif came_back == "as_sent" and ended_by_that:
            self.edge[which] = "open"
        elif came_back == "fresh" and self.edge[which] == "ended":
            self.edge[which] = "fresh"

    @rule(who=st.sampled_from([0, 2, 3]), which=st.integers(1, 2), reason=st.sampled_from(["worn", "chipped", "?"]))
    def retire(self, who, which, reason):
        should = self.may(who) and which not in self.retired and reason != "?" and not self.is_cutting(which)
        if self.press(actions.retire_stylus, should=should, who=who, stylus=self.styli[which], reason=reason):
            self.retired.add(which)
            self.away.pop(which, None)
            self._ended(which)

    def _ended(self, which: int) -> None:
        if self.edge[which] == "open":
            self.edge[which] = "ended"
        if self.head == which:
            self.head = None

    # Meters and blanks ------------------------------------------------------------------------------------------------

    @rule(who=WHO, key=st.sampled_from(list(METERS)), minutes=st.sampled_from([0, 0, 5, 20, 90, -30]))
    def reset(self, who, key, minutes):
        """minutes: how long ago; never to the minute at which a side ended, for presses are seven apart."""
        at = self.now + timedelta(minutes=7) - timedelta(minutes=minutes, seconds=1)
        since = self.reset_at.get(key)
        should = self.may(who) and minutes >= 0 and key != "cut" and (since is None or at >= since)
        if self.press(duties.reset_meter, should=should, who=who, meter=Meter.objects.get(key=key), at=at):
            self.reset_at[key] = at

    @rule(who=WHO, lot=st.integers(0, 3), hold=st.booleans())
    def hold_or_release(self, who, lot, hold):
        lots = sorted(self.on_hand)
        pk = lots[lot % len(lots)]
        act, note = (stock.hold_lot, {"why": "?"}) if hold else (stock.release_lot, {"note": "!"})
        should = self.people[who].is_engineer and hold != (pk in self.held)
        if self.press(act, should=should, who=who, lot=Lot.objects.get(pk=pk), **note):
            self.held ^= {pk}

    @precondition(lambda self: len(self.orders) < 2)
    @rule(sent=st.booleans())
    def order(self, sent):
        with clock.moved(self.now), clock.in_zone(makers.ZONE):
            supplier = stock.add_supplier(by=self.people[0], once=once(), name=f"Blankworks {len(self.orders)}")
            made = make_order(self.people[0], (self.bench.item, 3), supplier=supplier)
            if sent:
                send_order(self.people[0], made, expected_on=self.now.date() + timedelta(days=5))
        self.orders[made.pk] = 0

    @precondition(lambda self: self.orders)
    @rule(who=WHO, data=st.data(), code=st.sampled_from(["L3", "L4", "l1", ""]), quantity=st.sampled_from([1, 2, 3, 0]))
    def count_in(self, who, data, code, quantity):
        order = Order.objects.get(pk=data.draw(st.sampled_from(sorted(self.orders))))
        line = order.lines.get()
        taken = Lot.objects.filter(item=self.bench.item, supplier=order.supplier, code__iexact=code).exists()
        under_way = order.sent_on is not None and self.orders[order.pk] < line.quantity
        should = self.may(who) and under_way and bool(code) and not taken and quantity > 0
        lot = self.press(stock.receive_on_order, should=should, who=who, line=line, code=code, quantity=quantity)
        if lot is not None:
            self.on_hand[lot.pk] = quantity
            self.orders[order.pk] += quantity

    @precondition(lambda self: self.last is not None)
    @rule()
    def press_the_same_again(self):
        act, by, token, typed, result = self.last
        before = self.state()
        with clock.moved(self.now + timedelta(seconds=3)), clock.in_zone(makers.ZONE):
            assert act(by=by, once=token, **typed) == result
            stranger = next(person for person in self.people if person.is_hand and person != by)
            with pytest.raises((TokenTrouble, NotAllowed)):
                act(by=stranger, once=token, **typed)
        assert self.state() == before

    # What must always hold --------------------------------------------------------------------------------------------

    @invariant()
    def blanks_are_what_the_ledger_adds_up_to(self):
        kept = dict(Lot.objects.values_list("pk", "on_hand"))
        assert kept == self.on_hand == dict(Movement.objects.values_list("lot").annotate(Sum("change")))
        assert dict(OrderLine.objects.values_list("order", "arrived")) == self.orders
        assert queries.ledger_faults() == []

    @invariant()
    def what_a_life_carries_is_its_standing_sides(self):
        standing = Side.objects.filter(withdrawal__isnull=True)
        assert set(standing.values_list("pk", flat=True)) == set(self.standing)
        summed = {
            life: figures
            for life, *figures in standing.values_list("life").annotate(Sum("cut_s"), Sum("length_mm"), Count("pk"))
        }
        for life in Life.objects.all():
            assert [life.cut_s, life.length_mm, life.sides] == summed.get(life.pk, [0, 0, 0])
        by_stylus = Counter(which for _, which in self.standing.values())
        for which, stylus in enumerate(self.styli if self.standing else []):
            assert sum(life.sides for life in stylus.lives.all()) == by_stylus[which]

    @invariant()
    def one_stylus_is_in_the_head_and_it_is_the_one(self):
        there = Fitting.objects.filter(off_at=None).values_list("life__stylus", flat=True)
        assert list(there) == ([self.styli[self.head].pk] if self.head is not None and self.on_hand else [])
        retired = Stylus.objects.exclude(retired_at=None).values_list("pk", flat=True)
        assert set(retired) == {self.styli[which].pk for which in self.retired}

    @invariant()
    def meters_are_what_their_ticks_and_the_standing_sides_say(self):
        sides = list(Side.objects.filter(withdrawal__isnull=True))
        for meter in Meter.objects.all():
            ticks = Tick.objects.filter(meter=meter)
            reset = ticks.filter(is_reset=True).order_by("pk").last()
            after = ticks.filter(pk__gt=reset.pk) if reset is not None else ticks
            assert meter.value == sum(after.values_list("amount", flat=True))
            since = self.reset_at.get(meter.key)
            assert meter.value == sum(METERS[meter.key](side) for side in sides if since is None or side.at >= since)
            came = sum(ticks.values_list("came", flat=True))
            assert meter.total == came == sum(METERS[meter.key](side) for side in sides)


@pytest.mark.django_db
def test_any_sequence_keeps_what_a_side_moves_together():
    run_state_machine_as_test(Lathe, settings=settings(max_examples=20, stateful_step_count=25, deadline=None))
