"""What lies ahead of an item: how long stock lasts, when to order and how much, what will age, and how sure that is.

    method     picked by back-test (pick), giving the rate, its evidence and how lumpy the weeks are (methods)
    demand     what is booked, and the usual use beyond it (coming)
    lead time  learnt or stated (leadtime); here cut into 14 parts, finer towards its late end
    stock      lots first-expired-first-out, open orders joining the queue on days that are unsure (paths)

The service is that of a cycle: the chance that nothing is short from one order's arrival to the next. The reorder
point r is the least with P(demand over the lead time + V <= r) at least the service. V is by how much r is passed
already when that is noticed, for stock is taken in lumps and looked at every so many days: with use X between two looks
P(V = v) = P(X > v)/E X, the stationary excess of a renewal process (the "undershoot" of textbooks; from memory).

An order brings stock and what is on order, less what is expected to age, up to the level for its own lead time plus the
use expected in the cover days. It is then rounded up to packs and the minimum; and held down so that all of it is used
before it ages with chance `used_chance`, and so that on arrival it fits the shelf with what is expected there.
"""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from shop.calc.demand import lattice
from shop.calc.demand.before import before_it_comes
from shop.calc.demand.coming import CELLS, coming
from shop.calc.demand.paths import Weekly, paths
from shop.calc.demand.pick import Picked, pick_methods
from shop.calc.demand.question import LeadDemand, Outlook, Question, Suggestion
from shop.calc.demand.queue import Leads, losses_of, stock_of, weeks_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

#: An order due is looked for at least this far beyond a late lead time.
_WEEKS_TO_DECIDE = 12
#: Looks of like length are worked together.
_PATH_WEEKS = (13, 26, 39, 52, 78, 104, 130)
_MOST_DAYS = 1095


def outlook(question: Question) -> Outlook:
    """The outlook of one item. A what-if is the same question with something replaced (dataclasses.replace)."""
    return outlooks([question])[0]


def outlooks(questions: Sequence[Question]) -> list[Outlook]:
    """The outlooks of many items, worked together: 200 items with 10 years of weeks each in well under a second."""
    if not all(isinstance(each, Question) for each in questions):
        raise ValueError("questions must hold Question only.")
    return _Work(questions).answers() if questions else []


class _Work:
    """Everything about all items, step by step. Arrays are (items, ...), days counted from today."""

    def __init__(self, questions: Sequence[Question]) -> None:
        import numpy as np

        self.questions = questions
        self.leads = Leads()
        self.service = np.array([each.service for each in questions])
        self.nodes, self.weights = self.leads.of([each.lead for each in questions])
        self.mean_lead = (self.nodes * self.weights).sum(axis=1)
        self.picked = self._pick()
        self.demand = coming(
            [each.forecast for each in self.picked],
            [[(one.in_days, one.quantity) for one in each.booked] for each in questions],
            [each.booked_in_counts for each in questions],
        )
        self._follow()
        self._decide()
        self._suggest()

    def _pick(self) -> list[Picked]:
        """Each item's method, or the forecast that was stated."""
        weeks = [max(1, round(days / 7)) for days in self.mean_lead.tolist()]
        asked = [(each, n) for each, n in zip(self.questions, weeks, strict=True) if each.forecast is None]
        picked = iter(
            pick_methods(
                [each.counts for each, _ in asked],
                lead_weeks=[n for _, n in asked],
                service=[each.service for each, _ in asked],
                expected_per_week=[each.expected_per_week for each, _ in asked],
                expected_weeks=[each.expected_weeks for each, _ in asked],
            )
        )
        return [
            next(picked) if each.forecast is None else Picked(each.forecast, (), 0, n, "stated", each.expected_per_week)
            for each, n in zip(self.questions, weeks, strict=True)
        ]

    # Week by week ----------------------------------------------------------------------------------------------------

    def _follow(self) -> None:
        """Run every item's stock through the weeks to come."""
        import numpy as np

        late = [each.lead.quantile(0.95) for each in self.questions]
        asked = [
            max(each.weeks, math.ceil(days / 7) + _WEEKS_TO_DECIDE)
            for each, days in zip(self.questions, late, strict=True)
        ]
        self.path_weeks = [next((n for n in _PATH_WEEKS if each <= n), _PATH_WEEKS[-1]) for each in asked]
        weeks = max(self.path_weeks)
        # No order is due yet if, sent on this day, even a late one comes within the look and finds enough
        self.last_day = np.array([7 * n - days for n, days in zip(self.path_weeks, late, strict=True)])
        self.stocks = [stock_of(each, n, self.leads) for each, n in zip(self.questions, self.path_weeks, strict=True)]
        grain = np.array([each.grain for each in self.stocks])[:, None]
        ends = np.tile(7.0 * np.arange(weeks + 1), (len(self.questions), 1))
        self.booked = np.diff(self.demand.booked(ends), axis=1)
        self.open = np.diff(self.demand.open(ends), axis=1)
        weekly = Weekly(
            self.demand.rate, self.demand.evidence, self.demand.lumps, np.rint(self.booked / grain), self.open
        )
        self.paths = paths(self.stocks, weekly, self.path_weeks)
        self.aged_total = np.array(
            [sum(path.aged) * stock.grain for path, stock in zip(self.paths, self.stocks, strict=True)]
        )
        # What an order can count on: stock and what is on order, less what ages
        self.position = np.array([each.position for each in self.questions])
        self.usable = np.maximum(self.position - self.aged_total, 0)

    # When ------------------------------------------------------------------------------------------------------------

    def _decide(self) -> None:
        """The reorder point, and the last day to order."""
        import numpy as np

        self.lead_mean, self.lead_sd = self.demand.moments(self.nodes, self.weights)
        self.lead_booked = (self.weights * self.demand.booked(self.nodes)).sum(axis=1)
        look = np.array([float(each.review_days) for each in self.questions])
        self.reorder, self.chance_met = self._level(self.nodes, look)
        self.out = before_it_comes(self.questions, self.demand, self.paths, self.nodes, self.weights, self.leads)
        weeks = max(self.path_weeks)
        sound = np.array([np.pad(each.sound, (0, weeks + 1 - len(each.sound)), mode="edge") for each in self.paths])
        last = int(self.last_day.max())
        # service[i, s]: chance that nothing is short when an order sent in s days comes
        at = np.clip((np.arange(last + 1)[None, :, None] + self.nodes[:, None, :]) / 7, 0, sound.shape[1] - 1)
        before = np.minimum(at.astype(int), sound.shape[1] - 2)
        part = at - before
        item = np.arange(len(sound))[:, None, None]
        met = ((1 - part) * sound[item, before] + part * sound[item, before + 1]) * self.weights[:, None, :]
        service = met.sum(axis=2)
        self.service_today = np.clip(service[:, 0], 0, 1)
        enough = (service >= self.service[:, None] - 1e-9) & (np.arange(last + 1) <= self.last_day[:, None])
        final = last - np.argmax(enough[:, ::-1], axis=1)
        self.order_by = np.where(enough.any(axis=1), final, 0)
        self.due = self.order_by < self.last_day

    def _level(self, days: "Array", look: "Array") -> tuple["Array", "Array"]:
        """The least whole level with P(demand before an unsure day + V <= level) at least the service; and that chance.

        look: days between two looks, for V; 0 for no V.
        """
        import numpy as np

        mean, sd = self.demand.moments(days, self.weights)
        over, over_sd = self.demand.passed_moments(look)
        grain = lattice.grain_for(mean + over + 6 * np.hypot(sd, over_sd) + 8, CELLS)
        level, met = np.zeros(len(mean), dtype=int), np.zeros(len(mean))
        todo = np.arange(len(mean))
        while len(todo):
            some = self.demand.of(todo)
            reached = some.chance_at_most(days[todo], self.weights[todo], grain[todo], CELLS)
            reached = lattice.summed(reached, some.passed(look[todo], grain[todo], CELLS))
            enough = reached >= self.service[todo, None] - 1e-12
            first = np.argmax(enough, axis=1)
            level[todo], met[todo] = first * grain[todo], reached[np.arange(len(todo)), first]
            # a tail longer than thought is looked at in larger steps; beyond all bounds the end of it must do
            missed = ~enough.any(axis=1)
            far = missed & (grain[todo] > 1e7)
            level[todo[far]], met[todo[far]] = (CELLS - 1) * grain[todo[far]], reached[far, -1]
            todo = todo[missed & ~far]
            grain[todo] *= 10
        return level, met

    # How much --------------------------------------------------------------------------------------------------------

    def _suggest(self) -> None:
        """What to order on the order-by day."""
        import numpy as np

        cover = np.array([each.cover_days for each in self.questions], dtype=float)[:, None]
        shelf = [each.shelf_days for each in self.questions]
        days = self.nodes + self.order_by[:, None]
        level, _ = self._level(days, np.zeros(len(shelf)))
        until, beyond = self.demand.mean(days), self.demand.mean(days + cover)
        more = ((beyond - until) * self.weights).sum(axis=1)
        wanted = np.where(self.due, np.maximum(np.ceil(level + more - self.usable - 1e-9), 1), 0).astype(int)
        arrival = np.maximum(self.usable - (until * self.weights).sum(axis=1), 0)
        room = np.array([math.inf if each.room is None else each.room for each in self.questions])
        by_room = np.maximum(np.floor(room - arrival), 0)
        pack = np.array([each.pack for each in self.questions])
        least = np.maximum(np.array([each.minimum for each in self.questions]), 1)
        least = -(-least // pack) * pack
        rounded = np.where(wanted > 0, np.maximum(-(-wanted // pack) * pack, least), 0)
        # Only what ages needs the demand until then
        ages = np.array([each is not None for each in shelf])
        on_shelf = np.array([0.0 if each is None else each for each in shelf])[:, None]
        have = np.rint(self.usable).astype(int)
        grain = lattice.grain_for(have + np.maximum(rounded, least) + 2, CELLS)
        place = np.nonzero(ages & (wanted > 0))[0]
        by_age = np.full(len(shelf), math.inf)
        # below[i, n]: sum of P(demand <= m grain) over m < n, in pieces: expected stock left of n grain
        below = np.zeros((len(shelf), CELLS + 1))
        if len(place):
            reached = self.demand.of(place).chance_at_most(
                days[place] + on_shelf[place], self.weights[place], grain[place], CELLS
            )
            doubt = 1 - np.array([self.questions[each].used_chance for each in place.tolist()])
            passed = reached > doubt[:, None]
            used = np.where(passed.any(axis=1), np.argmax(passed, axis=1) * grain[place], math.inf)
            by_age[place] = np.maximum(used - have[place], 0)
            below[place, 1:] = np.cumsum(reached, axis=1) * grain[place, None]
        self.suggestions = [
            _suggestion(
                int(wanted[i]), int(rounded[i]), int(pack[i]), int(least[i]), float(by_age[i]), float(by_room[i])
            )
            for i in range(len(shelf))
        ]
        ordered = np.array([each[0] for each in self.suggestions])
        cell = np.minimum(np.rint(np.stack([have, have + ordered]) / grain).astype(int), CELLS)
        self.order_aged = np.clip(
            below[np.arange(len(shelf)), cell[1]] - below[np.arange(len(shelf)), cell[0]], 0, ordered
        )
        self.lasts = self._lasts(self.usable + ordered - self.order_aged)

    def _lasts(self, supply: "Array") -> list[int | None]:
        """Days until expected demand has used so much up."""
        import numpy as np

        week = np.tile(7.0 * np.arange(_MOST_DAYS // 7 + 2), (len(supply), 1))
        mean = self.demand.mean(week)
        past = mean >= supply[:, None] - 1e-9
        found: list[int | None] = []
        for place in range(len(supply)):
            if not past[place].any():
                found.append(None)
                continue
            end = int(past[place].argmax())
            low, high = mean[place, max(end - 1, 0)], mean[place, end]
            part = (supply[place] - low) / (high - low) if high > low else 0.0
            day = math.floor(7 * (max(end - 1, 0) + part) + 1e-9)
            found.append(day if day <= _MOST_DAYS else None)
        return found

    # Answers ---------------------------------------------------------------------------------------------------------

    def answers(self) -> list[Outlook]:
        expected = self.booked + self.demand.rate[:, None] * self.open
        totals = [
            max(stock.grain, int(step))
            for stock, step in zip(
                self.stocks, lattice.grain_for(self.lead_mean + 6 * self.lead_sd + 8, CELLS).tolist(), strict=True
            )
        ]
        return [
            Outlook(
                position=question.position,
                service=question.service,
                lead_demand=LeadDemand(float(self.lead_mean[i]), float(self.lead_sd[i]), float(self.lead_booked[i])),
                reorder_point=int(self.reorder[i]),
                chance_met=float(self.chance_met[i]),
                order_by_days=int(self.order_by[i]) if self.due[i] else None,
                service_today=float(self.service_today[i]),
                out_before_it_comes=float(self.out[i]),
                suggestion=Suggestion(
                    quantity=self.suggestions[i][0],
                    wanted=self.suggestions[i][1],
                    cap=self.suggestions[i][2],
                    over_cap=self.suggestions[i][3],
                    expected_aged=float(self.order_aged[i]),
                    lasts_days=self.lasts[i],
                ),
                weeks=weeks_of(question, self.stocks[i], self.paths[i], self.booked[i], expected[i]),
                losses=losses_of(question, self.stocks[i], self.paths[i]),
                picked=self.picked[i],
                lead=question.lead,
                grain=totals[i],
            )
            for i, question in enumerate(self.questions)
        ]


def _suggestion(
    wanted: int, rounded: int, pack: int, least: int, by_age: float, by_room: float
) -> tuple[int, int, Literal["none", "age", "room"], int]:
    """Quantity, what was wanted, which cap held it down, and by how much the smallest order is over it."""
    allowed = min(by_age, by_room)
    if rounded <= allowed:
        return rounded, wanted, "none", 0
    cap: Literal["age", "room"] = "age" if by_age <= by_room else "room"
    down = int(allowed) // pack * pack
    return (down, wanted, cap, 0) if down >= least else (least, wanted, cap, least - int(allowed))
