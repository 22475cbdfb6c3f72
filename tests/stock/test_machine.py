"""Any sequence of actions, bad input and all, keeps what the design says must always hold (section 4).

Hypothesis draws the sequence; beside it runs a plain model that knows what each press must come to.
"""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import DatabaseError, connection, transaction
from django.db.models import Sum
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    initialize,
    invariant,
    multiple,
    precondition,
    rule,
    run_state_machine_as_test,
)

from shop import clock
from shop.people.models import Role
from shop.press.models import Press
from shop.refusal import Doubtful, NotAllowed, Refused, TokenTrouble
from shop.stock import actions, queries
from shop.stock.models import Lot, Movement, MovementKind, Remark
from tests import makers
from tests.stock.makers import make_defect, make_item, once

#: Mostly what can be done, so that much happens; some of what can't.
QUANTITIES = st.sampled_from([1, 1, 2, 3, 5, 5, 8]) | st.sampled_from([1, 2, 4, -1, 0, 12, 10**6, 10**6 + 1, 10**30])
CODES = st.sampled_from(["A", "B", "C", "D", "a", "", "C" * 70])
#: Days from today: many near it, where the rules turn.
DAYS = st.sampled_from([None, -1, 0, 1, 1, 2, 2, 9]) | st.integers(-40, 4000)
WHO = st.sampled_from([0, 1, 1, 2, 2, 3])
TAKING = {
    actions.use_stock: MovementKind.USED,
    actions.test_stock: MovementKind.TESTED,
    actions.spoil_stock: MovementKind.SPOILED,
    actions.return_stock: MovementKind.RETURNED,
}


class Shelf(RuleBasedStateMachine):
    """A shelf of two items, four people, and a clock that only goes forward."""

    lots = Bundle("lots")
    lines = Bundle("lines")

    def __init__(self) -> None:
        super().__init__()
        # Each sequence lives in a transaction of its own that is thrown away; it counts as a test's, so that the
        # actions' outermost (durable) transactions may be inside it.
        self.around = transaction.atomic()
        self.around._from_testcase = True  # type: ignore[attr-defined]
        self.around.__enter__()
        self.now = datetime(2025, 3, 29, 22, 30, tzinfo=ZoneInfo(makers.ZONE))
        self.on_hand: dict[int, int] = {}
        self.held: set[int] = set()
        self.undone: set[int] = set()
        self.last: tuple | None = None

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.around.__exit__(None, None, None)

    @initialize()
    def open_the_room(self) -> None:
        makers.make_room()
        self.people = [makers.make_person(role, role.title(), role) for role in Role]
        with clock.moved(self.now):
            owner = self.people[0]
            self.items = [make_item(owner), make_item(owner, "Talc", kind="part", unit="g", shelf_days=20)]
            self.defect = make_defect(owner)

    # Pressing ---------------------------------------------------------------------------------------------------------

    def rows(self) -> tuple[int, ...]:
        return tuple(model.objects.count() for model in (Movement, Lot, Remark, Press))

    def press(self, act, *, should: bool, by, **typed):
        """Press; what was asked about is confirmed. The result, or None if it was refused, having left nothing."""
        before, token = self.rows(), once()
        held = {lot.pk: (lot.on_hand, lot.held_at) for lot in Lot.objects.all()}
        with clock.moved(self.now), clock.in_zone(makers.ZONE):
            try:
                try:
                    result = act(by=by, once=token, **typed)
                except Doubtful as asked:
                    assert self.rows() == before
                    typed["sure"] = [doubt.key for doubt in asked.doubts]
                    result = act(by=by, once=token, **typed)
            except Refused as no:
                result, sentence = None, no.sentence
        if result is None:
            assert not should, f"{act.__name__} was refused ({sentence}): {typed}"
            assert sentence.endswith((".", "?")), sentence
            assert self.rows() == before
            assert {lot.pk: (lot.on_hand, lot.held_at) for lot in Lot.objects.all()} == held
            return None
        assert should, f"{act.__name__} should have been refused: {typed}"
        self.last = (act, by, token, typed, result)
        return result

    def today(self):
        return self.now.astimezone(ZoneInfo(makers.ZONE)).date()

    def is_past(self, lot: Lot, moment: datetime) -> bool:
        return lot.last_day is not None and moment.astimezone(ZoneInfo(makers.ZONE)).date() > lot.last_day

    @rule(
        target=lots,
        who=WHO,
        item=st.integers(0, 1),
        code=CODES,
        quantity=QUANTITIES,
        best_before=DAYS,
        received=st.sampled_from([0, 0, 0, -1, -1, -3, 1]),
    )
    def receive(self, who, item, code, quantity, best_before, received):
        return self._receive(who, item, code, quantity, best_before, received)

    def _receive(self, who, item, code, quantity, best_before, received):
        by, kept = self.people[who], self.items[item]
        same = Lot.objects.filter(item=kept, code__iexact=code).first()
        void = same and not self.on_hand[same.pk] and same.pk not in self.held
        if void:
            stands = set(same.movements.exclude(kind="reversed").values_list("pk", flat=True)) - self.undone
            void = not stands
        should = by.is_hand and 1 <= quantity <= 10**6 and len(code) == 1 and received <= 0 and (not same or void)
        days = {
            "received_on": self.today() + timedelta(days=received),
            "best_before": None if best_before is None else self.today() + timedelta(days=best_before),
        }
        lot = self.press(
            actions.receive_delivery, should=should, by=by, item=kept, code=code, quantity=quantity, **days
        )
        if lot is None:
            return multiple()
        self.on_hand[lot.pk] = quantity
        return multiple() if void else lot.pk

    @rule(
        target=lines,
        lot=lots,
        who=WHO,
        act=st.sampled_from(list(TAKING)),
        quantity=QUANTITIES,
        hours=st.sampled_from([None, None, None, 0, -1, -30, -2000, 1]),
        overrule=st.sampled_from(["", "it is for a rehearsal"]),
    )
    def take(self, lot, who, act, quantity, hours, overrule):
        return self._take(lot, who, act, quantity, hours, overrule)

    def _unfit(self) -> list[int]:
        """Lots with something in them that are on hold or past their date."""
        there = Lot.objects.filter(pk__in=[pk for pk, left in self.on_hand.items() if left])
        return [lot.pk for lot in there.order_by("pk") if lot.pk in self.held or self.is_past(lot, self.now)]

    @precondition(lambda self: self._unfit())
    @rule(
        target=lines,
        data=st.data(),
        who=WHO,
        act=st.sampled_from([actions.use_stock, actions.test_stock]),
        overrule=st.sampled_from(["", "it is for a rehearsal"]),
    )
    def take_what_is_not_fit(self, data, who, act, overrule):
        return self._take(data.draw(st.sampled_from(self._unfit())), who, act, 1, None, overrule)

    @precondition(lambda self: any(self.on_hand.values()))
    @rule(target=lots, data=st.data(), code=CODES)
    def receive_an_older_one_of_the_same_date(self, data, code):
        there = [pk for pk, left in self.on_hand.items() if left]
        like = Lot.objects.get(pk=data.draw(st.sampled_from(there)))
        if like.last_day is None:
            return multiple()
        ago = (like.received_on - self.today()).days - 1
        return self._receive(0, self.items.index(like.item), code, 2, (like.last_day - self.today()).days, ago)

    def _take(self, lot, who, act, quantity, hours, overrule):
        by, kept = self.people[who], Lot.objects.get(pk=lot)
        at = None if hours is None else self.now + timedelta(hours=hours)
        moment = at or self.now
        day = moment.astimezone(ZoneInfo(makers.ZONE)).date()
        typed = {"lot": kept, "quantity": quantity, "at": at}
        should = by.is_hand and 1 <= quantity <= self.on_hand[lot] and moment <= self.now and day >= kept.received_on
        if act in (actions.use_stock, actions.test_stock):
            typed["overrule"] = overrule
            fit = lot not in self.held and not self.is_past(kept, moment)
            should = should and (fit or (by.is_engineer and bool(overrule)))
        if act is actions.spoil_stock:
            typed["defect"] = self.defect
        line = self.press(act, should=should, by=by, **typed)
        if line is None:
            return multiple()
        self.on_hand[lot] -= quantity
        assert (line.kind, line.change, line.balance, line.by) == (TAKING[act], -quantity, self.on_hand[lot], by)
        return line.pk

    @rule(
        target=lines,
        lot=lots,
        who=WHO,
        counted=st.integers(-1, 15) | st.sampled_from([10**6 + 1]),
        reason=st.sampled_from(["", "found so"]),
        expected=st.none() | st.integers(0, 12),
    )
    def count(self, lot, who, counted, reason, expected):
        by = self.people[who]
        should = by.is_hand and 0 <= counted <= 10**6 and (bool(reason) or counted == self.on_hand[lot])
        line = self.press(
            actions.count_lot,
            should=should,
            by=by,
            lot=Lot.objects.get(pk=lot),
            counted=counted,
            reason=reason,
            expected=expected,
        )
        if line is None:
            return multiple()
        assert line.change == counted - self.on_hand[lot]
        self.on_hand[lot] = counted
        return line.pk

    @rule(lot=lots, who=WHO, hold=st.sampled_from([True, True, False]))
    def hold_or_release(self, lot, who, hold):
        by, kept = self.people[who], Lot.objects.get(pk=lot)
        if hold:
            if self.press(actions.hold_lot, should=by.is_engineer and lot not in self.held, by=by, lot=kept, why="?"):
                self.held.add(lot)
        elif self.press(actions.release_lot, should=by.is_engineer and lot in self.held, by=by, lot=kept, note="!"):
            self.held.discard(lot)

    @rule(line=lines, who=WHO)
    def undo(self, line, who):
        self._undo(Movement.objects.get(pk=line), self.people[who])

    @rule(lot=lots, who=WHO)
    def undo_the_latest_or_a_receipt(self, lot, who):
        first = Movement.objects.filter(lot=lot, kind="received").latest("id")
        self._undo(first, self.people[who])
        self._undo(Movement.objects.filter(lot=lot).latest("id"), self.people[who])

    def _undo(self, line: Movement, by) -> None:
        should = (
            by.is_hand
            and line.kind != MovementKind.REVERSED
            and line.change != 0
            and line.pk not in self.undone
            and self.on_hand[line.lot_id] >= line.change
        )
        undone = self.press(actions.reverse_movement, should=should, by=by, movement=line)
        if undone:
            assert (undone.change, undone.reverses_id) == (-line.change, line.pk)
            self.undone.add(line.pk)
            self.on_hand[line.lot_id] -= line.change

    @precondition(lambda self: self.last is not None)
    @rule()
    def press_the_same_again(self):
        act, by, token, typed, result = self.last
        before = self.rows()
        with clock.moved(self.now + timedelta(seconds=3)), clock.in_zone(makers.ZONE):
            assert act(by=by, once=token, **typed) == result
            stranger = next(person for person in self.people if person.is_hand and person != by)
            with pytest.raises((TokenTrouble, NotAllowed)):
                act(by=stranger, once=token, **typed)
        assert self.rows() == before

    @rule(days=st.sampled_from([1, 1, 2, 5, 30]))
    def wait(self, days):
        self.now += timedelta(days=days)

    @rule(line=consumes(lines), sql=st.sampled_from(["UPDATE {} SET change = 1", "DELETE FROM {}"]))
    def tamper(self, line, sql):
        with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"{sql.format('stock_movement')} WHERE id = %s", [line])

    # What must always hold --------------------------------------------------------------------------------------------

    @invariant()
    def on_hand_is_the_sum_and_never_below_none(self):
        kept = dict(Lot.objects.values_list("pk", "on_hand"))
        summed = dict(Movement.objects.values_list("lot").annotate(Sum("change")))
        assert kept == self.on_hand == summed
        assert all(value >= 0 for value in kept.values())
        assert queries.ledger_faults() == []

    @invariant()
    def what_is_usable_is_what_the_model_says(self):
        if not self.on_hand:
            return
        today = self.today()
        with clock.in_zone(makers.ZONE):
            usable = list(queries.usable_lots(day=today))
        expected = [
            lot
            for lot in Lot.objects.all()
            if self.on_hand[lot.pk] and lot.pk not in self.held and (lot.last_day is None or lot.last_day >= today)
        ]
        far = today + timedelta(days=10**4)
        assert usable == sorted(expected, key=lambda lot: (lot.last_day or far, lot.received_on, lot.pk))


@pytest.mark.django_db
def test_any_sequence_keeps_the_ledger_s_promises():
    run_state_machine_as_test(Shelf, settings=settings(max_examples=60, stateful_step_count=30, deadline=None))
