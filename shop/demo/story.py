"""Fifteen months in the demo room, lived through by calling the same actions a person would.

A fixed seed and a moved clock make the same story on every machine; it always ends this morning, before the check,
with blanks on hold that today's job needs, and a stylus that may not last the day.
"""

import math
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from shop import clock
from shop.cutting import actions as cutting
from shop.cutting.actions.bookings import WantedSide, WantedTitle
from shop.cutting.models import AGAINST_STYLUS, Booking, EndReason, Lathe, RejectReason, Stylus, StylusKind
from shop.cutting.queries.bookings import next_code, uncut_of
from shop.demo import cast
from shop.demo.chip import Chip
from shop.demo.edges import Edges
from shop.demo.handing_over import write_in_the_log
from shop.demo.hands import Hands
from shop.demo.instruments import log_the_air
from shop.demo.learning import Learning
from shop.demo.line import take_baselines
from shop.demo.safety.containers import open_bottles
from shop.demo.safety.hazard_sheets import Sheets
from shop.demo.safety.incidents import Incidents
from shop.demo.safety.places import misplace, write_down_places
from shop.demo.safety.substances import write_down_substances
from shop.demo.safety.supplier_sheets import SupplierSheets
from shop.demo.safety.wall import hang_up_the_card
from shop.demo.services import Services
from shop.demo.supplies import Supplies
from shop.demo.trust import give_trust
from shop.demo.upkeep import Upkeep
from shop.demo.weather import Air, Weather
from shop.morning import actions as morning
from shop.morning.answers import Given
from shop.morning.models import AnswerKind, Question, Verdict
from shop.people import actions as people
from shop.people.models import Person
from shop.people.opening import open_room
from shop.room import actions as room
from shop.room.models import Reading, ReadingKind
from shop.room.outlook import keep_gas_forecast
from shop.stock import actions as stock
from shop.stock.figures import keep_figures
from shop.stock.models import Lot
from shop.stock.queries import first_lot, usable_lots

SEED = 33
DAYS = 460
#: Bookings are made so many days ahead, and the last are for so many days from now.
AHEAD = 14

#: The first accidents happen to these styli, counted as they are unpacked, at the latest.
ACCIDENTS = (6, 12)

#: The hours of the stylus that is fitted this morning: it may not last a double album.
KEPT_H = 10.5

Progress = Callable[[int, int], None]


class Story:
    """One run of it. `build` does everything; `today` is the day on which it ends."""

    owner: Person
    caspar: Person
    juno: Person
    pim: Person

    def __init__(self, today: date, seed: int = SEED) -> None:
        self.today = today
        self.zone = ZoneInfo(cast.ZONE)
        self.rng = Random(seed)
        self.hands = Hands(self.rng)
        self.music = Random(seed + 7)
        self.weather = Weather(Random(seed + 1))
        self.styli = self.accidents = 0
        self.life_h = self.accident_h = 0.0
        self.fitted: Stylus | None = None
        self.kept: Stylus | None = None

    def build(self, progress: Progress = lambda done, total: None) -> None:
        """Live through it all. progress is called with the days done and their number."""
        with clock.in_zone(cast.ZONE):
            first = self.today - timedelta(days=DAYS)
            with clock.moved(self._at(first, 9, 0)):
                self._open()
            for done in range(1, DAYS):
                day = first + timedelta(days=done)
                air = self.weather.on(day)
                if self._is_worked(day):
                    self._work(day, air)
                with clock.moved(self._at(day, 18, 50)):
                    self.supplier_sheets.evening(done, DAYS)
                    self.incidents.evening(done, DAYS)
                    self.sheets.evening(done, DAYS)
                    self.services.evening(day, self.today, by=self.caspar)
                    self.learning.evening(day)
                    self.edges.evening()
                    self.services.read_store(day, self.today, by=self.caspar)
                    take_baselines(Hands(Random(SEED + 29)), self.today, by=self.caspar)
                progress(done, DAYS)
            with clock.moved(self._at(self.today - timedelta(days=1), 18, 55)):
                log_the_air(Hands(Random(SEED + 16)), owner=self.owner)
            self._this_morning()
            progress(DAYS, DAYS)

    # The calendar -----------------------------------------------------------------------------------------------------

    def _at(self, day: date, hour: int, minute: int) -> datetime:
        return datetime.combine(day, time(hour, minute), tzinfo=self.zone)

    @staticmethod
    def _is_worked(day: date) -> bool:
        """Weekdays, but for two weeks in August and the turn of the year."""
        away = (
            (day.month == 8 and 8 <= day.day <= 21)
            or (day.month, day.day) >= (12, 23)
            or (day.month, day.day) <= (1, 3)
        )
        return day.weekday() < 5 and not away

    def _worked_day_from(self, day: date) -> date:
        while not self._is_worked(day):
            day += timedelta(days=1)
        return day

    # The first day ----------------------------------------------------------------------------------------------------

    def _open(self) -> None:
        name, sign_in = cast.OWNER
        self.owner = open_room(
            name=cast.ROOM, zone=cast.ZONE, units="metric", owner_name=name, sign_in=sign_in, password=cast.PASSWORD
        )
        for name, sign_in, role, thinks_us in cast.OTHERS:
            person = self.hands.do(
                people.add_person, by=self.owner, name=name, sign_in=sign_in, role=role, password=cast.PASSWORD
            )
            if thinks_us:
                self.hands.do(people.change_settings, by=person, **cast.US_UNITS)
            setattr(self, sign_in, person)
        hands = Hands(Random(SEED + 3))
        give_trust(hands, self.today, owner=self.owner, engineer=self.caspar, assistant=self.juno)
        self.lathe = Lathe.objects.filter(is_active=True).first() or self.hands.do(
            cutting.add_lathe, by=self.owner, name="Lathe"
        )
        kind = StylusKind.objects.filter(is_active=True).order_by("id")[0]
        self.kind = Hands(Random(SEED + 31)).do(
            cutting.change_stylus_kind,
            by=self.caspar,
            kind=kind,
            version=kind.version,
            name=kind.name,
            **cast.EXPECTED,
            tip_radius_um=kind.tip_radius_um,
            is_active=True,
        )
        self.questions = list(Question.objects.filter(is_active=True))
        self.reasons = list(RejectReason.objects.filter(is_active=True))
        self.supplies = Supplies(self.hands, self.owner, self.today)
        self.supplies.open()
        self.services = Services(self.hands, self.owner)
        self.services.open()
        self.chip = Chip(Hands(Random(SEED + 15)), self.today)
        hands = Hands(Random(SEED + 2))  # so that what care is left undone changes nothing else in the story
        self.upkeep = Upkeep(hands, self.today, owner=self.owner, engineer=self.caspar, assistant=self.juno)
        self.upkeep.open()
        hands = Hands(Random(SEED + 6))  # likewise
        self.supplier_sheets = SupplierSheets(hands, engineer=self.caspar)
        self.supplier_sheets.open()
        self.incidents = Incidents(hands, owner=self.owner, engineer=self.caspar, assistant=self.juno)
        write_down_substances(Hands(Random(SEED + 7)), self.caspar)
        hang_up_the_card(Hands(Random(SEED + 9)), self.caspar)
        self.sheets = Sheets(Hands(Random(SEED + 11)), owner=self.owner, engineer=self.caspar, assistant=self.juno)
        self.sheets.open()
        people_here = {"owner": self.owner, "engineer": self.caspar, "assistant": self.juno}
        self.learning = Learning(Hands(Random(SEED + 17)), self.today, **people_here)
        self.edges = Edges(
            Hands(Random(SEED + 19)), self.today, owner=self.owner, engineer=self.caspar, assistant=self.juno
        )
        self.edges.open()
        self._fit_fresh_stylus()
        for ahead in range(1, AHEAD):
            self._book(clock.today() + timedelta(days=ahead))

    # A day ------------------------------------------------------------------------------------------------------------

    def _work(self, day: date, air: Air) -> None:
        with clock.moved(self._at(day, 7, 35)):
            self.supplies.morning(by=self.juno, engineer=self.caspar)
            if day.weekday() == 0:
                self.supplies.throw_out(by=self.caspar)
        with clock.moved(self._at(day, 7, 45) + timedelta(minutes=self.rng.randint(0, 25))):
            self._check(air)
            self.upkeep.morning()
        end = self._cut(day)
        with clock.moved(max(end + timedelta(minutes=20), self._at(day, 17, 5))):
            self._clear_up(day)
            self._book(day + timedelta(days=AHEAD))

    def _check(self, air: Air) -> None:
        by = self.juno if self.rng.random() < 0.8 else self.caspar
        values = self.services.morning(air, by=self.caspar)
        check = self.hands.do(morning.make_check, by=by, answers=[self._answer(q, values) for q in self.questions])
        if check.verdict == Verdict.HOLD and self.rng.random() < 0.5:
            self.hands.do(
                morning.overrule_check,
                by=self.caspar,
                check=check,
                reason="Seen to and put right before the first cut.",
            )

    def _answer(self, question: Question, values: dict[ReadingKind, float]) -> Given:
        if question.kind == AnswerKind.READING:
            return Given(question, value=values[ReadingKind(question.reading)])
        if self.rng.random() < 0.004:
            return Given(question, yes=False, note="seen to at once")
        return Given(question, yes=True)

    def _cut(self, day: date) -> datetime:
        """Cut what is booked for the day; give the moment the last side ended."""
        at = self._at(day, 9, 10)
        for booking in Booking.objects.filter(cut_on__lte=day, finished_at=None, cancelled_at=None).order_by("cut_on"):
            for wanted in uncut_of(booking):
                if at > self._at(day, 17, 30):
                    return at  # the rest tomorrow
                for last_try in (False, True):
                    lot = first_lot(day=day, blank_in=wanted.blank_in)
                    if lot is None:
                        break
                    at += timedelta(minutes=self.rng.randint(14, 26))
                    with clock.moved(at):
                        self._look_at_stylus()
                    at += timedelta(seconds=wanted.play_s)
                    with clock.moved(at):
                        outcome, reason = self._outcome(lot.pk, last_try)
                        self.hands.do(
                            cutting.log_side,
                            by=self.caspar if self.rng.random() < 0.7 else self.owner,
                            wanted=wanted,
                            lathe=self.lathe,
                            lot=lot,
                            outcome=outcome,
                            reject_reason=reason,
                            cut_s=wanted.play_s + self.rng.randint(8, 28),
                            disc_in=wanted.disc_in,
                            speed=wanted.speed,
                            pitch_um=None,
                            width_um=wanted.width_um,
                            cut_text=f"{booking.code} {wanted.label}" if outcome == "good" else "",
                        )
                        self._look_over(reason)
                    self.services.side_cut()
                    if outcome == "good":
                        break
        return at

    def _look_over(self, reason: RejectReason | None) -> None:
        """After a side that speaks against the stylus."""
        if reason is not None and reason.blame in AGAINST_STYLUS:
            seen = "whole under the microscope; wiped and reheated"
            self.hands.do(cutting.look_over_stylus, by=self.caspar, stylus=self.fitted, seen=seen)

    def _outcome(self, lot: int, last_try: bool) -> tuple[str, RejectReason | None]:
        share = cast.REJECTED_SHARE * (4 if lot in self.supplies.poor else 1)
        if last_try or self.rng.random() > share:
            return "good", None
        blank = [reason for reason in self.reasons if reason.blame == "blank"]
        listed = blank if blank and lot in self.supplies.poor else self.reasons
        return "rejected", self.rng.choice(listed)

    def _clear_up(self, day: date) -> None:
        rng = self.rng
        done = self.upkeep.evening()
        if "Clean the vacuum line" in done:
            self.services.since_clean = 0
        with clock.moved(clock.now() + timedelta(hours=3)):
            self.chip.evening(by=self.juno)
        if day.day == 12 and day.month % 3 == 0:
            self.supplies.count_shelf(by=self.juno, agreed_by=self.caspar)
        if rng.random() < 0.012:
            self._correct_something()

    def _correct_something(self) -> None:
        """Once in a while somebody typed a wrong figure, and puts it right."""
        reading = Reading.objects.filter(kind=ReadingKind.HEATER_MA, corrected_by=None).order_by("-id").first()
        if reading is not None:
            self.hands.do(
                room.correct_reading,
                by=self.caspar,
                reading=reading,
                value=reading.value + 9,
                reason="misread the dial",
            )

    # Styli ------------------------------------------------------------------------------------------------------------

    def _fit_fresh_stylus(self) -> None:
        if (relapped := self.edges.drawer()) is not None:
            self.fitted = relapped
        else:
            self._unpack_stylus()
        self.hands.do(cutting.fit_stylus, by=self.caspar, stylus=self.fitted, lathe=self.lathe)
        self.life_h = min(self.rng.weibullvariate(12.5, 3.2), 16.0)
        self.accident_h = self.rng.expovariate(1 / 90)
        if self.accidents < len(ACCIDENTS) and self.styli >= ACCIDENTS[self.accidents]:
            self.accident_h = 0.4 * self.life_h
        if self.kept is None and self._is_second_half():  # it gets as old as the one that is kept must be
            self.life_h, self.accident_h = max(self.life_h, KEPT_H + 1), math.inf

    def _is_second_half(self) -> bool:
        return clock.today() > self.today - timedelta(days=DAYS // 2)

    def _unpack_stylus(self) -> None:
        self.styli += 1
        lot = first_lot(day=clock.today(), item=self.supplies.items["Cutting stylus"])
        self.fitted = self.hands.do(
            cutting.add_stylus, by=self.caspar, mark=f"Q{self.styli:02d}", kind=self.kind, lot=lot
        )

    def _look_at_stylus(self) -> None:
        """Before each side: change it if it sounds worn, or met with an accident."""
        assert self.fitted is not None
        hours = self.fitted.lives.values_list("cut_s", flat=True).get(ended_at=None) / 3600
        if self.kept is None and KEPT_H < hours < KEPT_H + 0.5 and self._is_second_half():
            self.kept = self.fitted
            self.hands.do(cutting.take_off_stylus, by=self.caspar, stylus=self.kept, note="kept for short jobs")
            self._fit_fresh_stylus()
            return
        if hours < min(self.life_h, self.accident_h):
            return
        reason = EndReason.WORN
        if self.accident_h < self.life_h:
            reason = (EndReason.CHIPPED, EndReason.KNOCKED)[self.accidents % 2]
            self.accidents += 1
        elif self.rng.random() < 0.12:
            reason = EndReason.EARLY
        if reason != EndReason.WORN or not self.edges.ends(self.fitted, self.styli):
            self.hands.do(cutting.retire_stylus, by=self.caspar, stylus=self.fitted, reason=reason)
        self._fit_fresh_stylus()

    # Bookings ---------------------------------------------------------------------------------------------------------

    def _book(self, day: date) -> None:
        if not self._is_worked(day):
            return
        for _ in range(self.rng.choices((0, 1, 2), (0.05, 0.6, 0.35))[0]):
            job = self.rng.choices(cast.JOBS, [job.weight for job in cast.JOBS])[0]
            self._add_booking(day, job)

    def _add_booking(self, day: date, job: cast.Job) -> Booking:
        rng = self.rng
        title = f"{rng.choice(cast.FIRST_WORDS)} {rng.choice(cast.SECOND_WORDS)}"
        width, land = rng.uniform(*job.width_um), rng.uniform(*job.land_um)
        booking: Booking = self.hands.do(
            cutting.add_booking,
            by=self.owner,
            code=next_code(),
            title=title,
            customer=rng.choice(cast.CUSTOMERS),
            cut_on=day,
            sides=[self._side(day, job, label, round(width), round(land)) for label in job.labels],
        )
        return booking

    def _side(self, day: date, job: cast.Job, label: str, width_um: int, land_um: int) -> WantedSide:
        play_s = round(60 * self.rng.uniform(*job.minutes))
        return WantedSide(
            label=label,
            play_s=play_s,
            disc_in=job.disc_in,
            speed=job.speed,
            width_um=width_um,
            land_um=land_um,
            **self._music(day, play_s),
        )

    def _music(self, day: date, play_s: int) -> dict[str, Any]:
        """Titles and the loudest passage, of long sides that are still to come: the older ones tell nothing more by
        them. By a chance of its own, so that the story before stays as it was."""
        if day < self.today or play_s < 9 * 60:
            return {}
        rng = self.music
        count = rng.randint(3, 6)
        shares = [rng.uniform(0.7, 1.3) for _ in range(count)]
        whole = play_s - 2 * (count - 1)  # the usual pause between two titles is 2 s
        titles = [
            WantedTitle(
                int(whole * share / sum(shares)), f"{rng.choice(cast.FIRST_WORDS)} {rng.choice(cast.SECOND_WORDS)}"
            )
            for share in shares
        ]
        loudest = rng.randint(1, count)
        where = f"{loudest} from 1:{rng.randint(10, 55)}, {rng.choice(('brass', 'drums', 'all voices'))}"
        return {"titles": titles, "level_note": f"{where}, +{rng.randint(1, 4)} dB"}

    # This morning -----------------------------------------------------------------------------------------------------

    def _this_morning(self) -> None:
        """Set the scene: a double album today, its blanks on hold; a loud side that will not fit, later this week."""
        eve, now = self._at(self.today, 7, 20), clock.now()
        if self._at(self.today, 0, 0) <= now < eve:  # built by somebody who is up early: nothing lies ahead of them
            eve = now
        self._write_down_places(eve)
        with clock.moved(eve):
            self.upkeep.last_evening()
            for booking in Booking.objects.filter(cut_on__lte=self.today, finished_at=None, cancelled_at=None):
                self.hands.do(cutting.cancel_booking, by=self.owner, booking=booking, note="moved by the customer")
            self._add_booking(self.today, cast.JOBS[1])
            loud = cast.Job(1, "AB", 12, "45", (15.8, 16.4), (104, 104), (28, 28))
            self._add_booking(self._worked_day_from(self.today + timedelta(days=2)), loud)
            held = self._hold_the_shelf()
            if self.kept is not None:
                self.hands.do(
                    cutting.take_off_stylus, by=self.caspar, stylus=self.fitted, note="put by for the next big job"
                )
                self.hands.do(cutting.fit_stylus, by=self.caspar, stylus=self.kept, lathe=self.lathe)
            write_in_the_log(
                Hands(Random(SEED + 13)),
                eve,
                owner=self.owner,
                engineer=self.caspar,
                assistant=self.juno,
                stylus=self.kept or self.fitted,
                held=held,
            )
            keep_gas_forecast()
            self.edges.this_morning(self.kept, self.fitted)
            keep_figures()  # as the clock does by itself in a room that is served

    def _write_down_places(self, eve: datetime) -> None:
        """Three weeks ago what is kept where was written down; since then something was put down in the wrong place."""
        hands = Hands(Random(SEED + 4))  # so that it changes nothing else in the story
        with clock.moved(eve - timedelta(days=21)):
            write_down_places(hands, self.caspar)
        with clock.moved(eve - timedelta(days=2)):
            misplace(hands, self.caspar)
        with clock.moved(eve - timedelta(days=1)):
            open_bottles(Hands(Random(SEED + 21)), eve, engineer=self.caspar, assistant=self.juno)

    def _hold_the_shelf(self) -> list[Lot]:
        """The store got too warm: every lot of 14 inch blanks waits to be looked at, save three that were borrowed."""
        held = list(usable_lots(day=self.today, blank_in=14))
        self.hands.do(
            stock.receive_delivery,
            by=self.juno,
            item=self.supplies.blank(14),
            code="NR-LENT",
            note="borrowed from the Ninefold room",
            quantity=3,
            made_on=self.today - timedelta(days=70),
        )
        for lot in held:
            self.hands.do(
                stock.hold_lot,
                by=self.caspar,
                lot=lot,
                why="the store got warm overnight: look at ten before using any",
            )
        return held
