"""The demo room's care: who does what is due, what they read, what is late now and then, and what is put off."""

from datetime import date, timedelta
from typing import Any

from shop import clock
from shop.demo.hands import Hands
from shop.duties import actions as duties
from shop.duties.actions import StepDone
from shop.duties.models import Duty, DutyStep, Entry, StepQuantity
from shop.duties.starting import work_out_care
from shop.people.models import Person, Role
from shop.refusal import NotEnough
from shop.room.humid import count_humid_days

#: The room has none, so its duty is stopped.
EYEWASH = "Run the eyewash"
#: Others did it until so many days ago.
RAG_CAN, OURS_FOR_DAYS = "Empty the rag can", 120
#: Left undone at the end, so that something is late this morning; and put off on the last evening.
LATE, PUT_OFF = "Check the stylus heater", "Wipe the cutter head"
#: So many of the last days they are let be.
LAST_DAYS = 11
LATE_SHARE, PUT_OFF_SHARE, WATCHED_SHARE = 0.06, 0.015, 0.3

#: What is read where a duty asks for it: the middle, and how far it strays.
READS = {
    "Chip suction": (13.0, 0.5),
    "Hold-down suction": (36.0, 0.8),
    "Heater current": (412.0, 3.0),
    "Off level along it": (0.02, 0.02),
    "Off level across it": (0.03, 0.02),
    "At 33⅓": (33.33, 0.02),
    "At 45": (45.0, 0.03),
    "Tracking force": (2.2, 0.05),
}
REASONS = (
    "The pump ran warm all day and is left to cool.",
    "A client sat in; it is done once the room is empty.",
    "What it needs has not come yet.",
)


class Upkeep:
    """Does in the evening what is due, as a careful room would, and forgets a little now and then."""

    def __init__(self, hands: Hands, today: date, *, owner: Person, engineer: Person, assistant: Person) -> None:
        self.hands, self.today = hands, today
        self.people = {Role.OWNER: owner, Role.ENGINEER: engineer, Role.ASSISTANT: assistant}
        self.steps: dict[int, list[DutyStep]] = {}
        self.left: dict[int, date] = {}
        self.misread: Entry | None = None
        self.gauge_bar = 150.0
        self.is_ours = False

    def open(self) -> None:
        owner = self.people[Role.OWNER]
        not_ours = {
            EYEWASH: "There is none here. The rinsing bottle is looked at with the solvents.",
            RAG_CAN: "The house takes it out with its own each evening.",
        }
        for duty in Duty.objects.filter(name__in=not_ours).order_by("id"):
            self.hands.do(duties.stop_duty, by=owner, duty=duty, why=not_ours[duty.name])
        for step in DutyStep.objects.filter(is_active=True):
            self.steps.setdefault(step.duty_id, []).append(step)

    def morning(self) -> None:
        """What the clock thread would have done since."""
        count_humid_days()

    def evening(self) -> set[str]:
        """Do what is due; the names of what was done."""
        day, now, done = clock.today(), clock.now(), set()
        if not self.is_ours and (self.today - day).days <= OURS_FOR_DAYS:
            self.is_ours = True
            self.hands.do(duties.resume_duty, by=self.people[Role.OWNER], duty=Duty.objects.get(name=RAG_CAN))
        spared = (LATE, PUT_OFF) if (self.today - day).days <= LAST_DAYS else ()
        for minutes, duty in enumerate(Duty.objects.filter(is_active=True, due_at__lte=now).order_by("due_at", "id")):
            if duty.name in spared or self.left.get(duty.pk, day) > day:
                continue
            with clock.moved(now + timedelta(minutes=4 * minutes)):
                if self._leaves(duty, day):
                    continue
                self.do(duty)
                done.add(duty.name)
        return done

    def _leaves(self, duty: Duty, day: date) -> bool:
        """Whether it is forgotten for some days, or put off; never what holds the cutting."""
        rng = self.hands.rng
        if duty.late_grade > 2 or duty.last_entry_id is None:
            return False
        chance = rng.random()
        if chance < PUT_OFF_SHARE and not duty.is_critical and duty.put_offs < duty.put_off_limit:
            until = day + timedelta(days=rng.randint(2, 4))
            by, reason = self._who(duty), rng.choice(REASONS)
            self.hands.do(duties.put_off_duty, by=by, duty=duty, until=until, reason=reason)
            return True
        if chance < PUT_OFF_SHARE + LATE_SHARE:
            self.left[duty.pk] = day + timedelta(days=rng.randint(1, 4))
            return True
        return False

    def do(self, duty: Duty) -> None:
        """Record it done, with readings; what is not on the shelf came from elsewhere."""
        by = self._who(duty)
        steps = [self._step(step) for step in self.steps.get(duty.pk, ())]
        typed: dict[str, Any] = {"by": by, "duty": duty, "steps": steps}
        if duty.authority and self.hands.rng.random() < WATCHED_SHARE:
            typed |= {"by": self.people[Role.ASSISTANT], "under": self.people[Role.ENGINEER]}
        try:
            entry = self.hands.do(duties.do_duty, **typed)
        except NotEnough:
            amounts = {touch.pk: 0 for touch in duty.touches.all()}
            entry = self.hands.do(duties.do_duty, **typed, amounts=amounts)
        if self.misread is None and any(step.reading is not None for step in steps):
            self.misread = entry
            self._put_right(entry, steps)

    def _put_right(self, entry: Entry, steps: list[StepDone]) -> None:
        """Once somebody read a dial wrongly, and put it right."""
        again = [StepDone(s.step, s.done, s.reading + 0.4 if s.reading is not None else None) for s in steps]
        self.hands.do(duties.correct_entry, by=entry.by, entry=entry, steps=again, note="misread the dial")

    def _who(self, duty: Duty) -> Person:
        return self.people[Role(duty.for_role or Role.ASSISTANT)]

    def _step(self, step: DutyStep) -> StepDone:
        if not step.reads:
            return StepDone(step, True)
        if step.quantity == StepQuantity.PRESSURE:  # a line that is tight, read twice within the hour
            if step.reads.endswith("start"):
                self.gauge_bar = float(self.hands.rng.randint(70, 195))
            return StepDone(step, True, self.gauge_bar)
        middle, spread = READS.get(step.reads, (1.0, 0.0))
        low = step.low if step.low is not None else 0.0
        return StepDone(step, True, max(low, round(self.hands.rng.gauss(middle, spread), 2)))

    def last_evening(self) -> None:
        """Put one off that is due, and bring the forecasts up to this morning."""
        duty = Duty.objects.filter(name=PUT_OFF, is_active=True, due_at__lte=clock.now()).first()
        if duty is not None:
            until, reason = self.today + timedelta(days=2), "The windows stay shut while the painters are outside."
            self.hands.do(duties.put_off_duty, by=self._who(duty), duty=duty, until=until, reason=reason)
        work_out_care()
