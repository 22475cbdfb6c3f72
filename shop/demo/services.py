"""The demo room's gas, suction and heater, and what its gauges show each morning."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from shop.calc import gas
from shop.demo.hands import Hands
from shop.demo.weather import Air
from shop.people.models import Person
from shop.room import actions as room
from shop.room.models import Cylinder, ReadingKind, StandingTest
from shop.room.queries import gas_use

#: The nitrogen one side really takes here, and what leaks away in a day, in grams.
SIDE_G, DAY_G = 92.0, 6.0
WATER_L, SERVICE_BAR = 50.0, 200.0
#: On so many of the last evenings the air of the store was read.
STORE_READ = 24
#: So long before the end of the story the cylinder stood over a weekend to be tested.
STOOD_BEFORE = timedelta(days=16)


@dataclass
class Services:
    hands: Hands
    owner: Person
    count: int = 0
    connected: Cylinder | None = None
    spare: Cylinder | None = None
    left_g: float = 0.0
    since_clean: int = 0
    heater_ma: float = 412.0
    standing: StandingTest | None = None

    def open(self) -> None:
        use = gas_use()
        self.hands.do(
            room.change_gas_use,
            by=self.owner,
            version=use.version if use.pk else 0,
            side_g=95.0,
            reserve_bar=12.0,
            low_share=0.2,
            lead_days=6,
        )
        self.spare = self._deliver()
        self.change_cylinder(by=self.owner)

    def _deliver(self) -> Cylinder:
        self.count += 1
        cylinder: Cylinder = self.hands.do(
            room.add_cylinder,
            by=self.owner,
            mark=f"MG {4100 + 37 * self.count}",
            water_volume_l=WATER_L,
            service_bar=SERVICE_BAR,
            fill_bar=SERVICE_BAR - 2.0,
            owner="Tallow Bay Gases",
            rent_month=Decimal("6.40"),
            stamp=f"{1 + self.count % 12:02}-{2016 + self.count % 5}",
            test_years=10,
        )
        return cylinder

    def read_store(self, day: date, today: date, *, by: Person) -> None:
        """The store's air, read each evening of the last weeks; it got warm over the last night but one."""
        left = (today - day).days
        if not 1 <= left <= STORE_READ:
            return
        warm = 29.5 if left == 1 else 26.4 if left == 2 else 19.0 + 0.4 * (day.toordinal() % 5)
        damp = 38.0 if left <= 2 else 44.0 + day.toordinal() % 7
        self.hands.do(room.take_readings, by=by, values={ReadingKind.STORE_C: warm, ReadingKind.STORE_RH: damp})

    def evening(self, day: date, today: date, *, by: Person) -> None:
        """Over one of the last weekends the cylinder is left to stand, to see that nothing leaks."""
        began, ends = STOOD_BEFORE + timedelta(days=2), STOOD_BEFORE
        if self.connected is None:
            return
        air = {"gauge_bar": self.gauge_bar(20.4), "celsius": 20.4}
        if self.standing is None and day.weekday() == 4 and ends <= today - day <= began + timedelta(days=5):
            self.standing = self.hands.do(room.begin_standing_test, by=by, cylinder=self.connected, **air)
        elif self.standing is not None and self.standing.is_running and day.weekday() == 6:
            self.standing = self.hands.do(room.end_standing_test, by=by, test=self.standing, **air)

    def change_cylinder(self, *, by: Person) -> None:
        """The empty one off and back to its supplier, the spare on, a new spare ordered in."""
        if self.connected is not None:
            self.hands.do(room.empty_cylinder, by=by, cylinder=self.connected)
            self.hands.do(room.return_cylinder, by=by, cylinder=self.connected)
        self.connected, self.spare = self.spare, self._deliver()
        assert self.connected is not None
        self.hands.do(room.connect_cylinder, by=by, cylinder=self.connected)
        self.left_g = 1000 * gas.nitrogen_mass_kg(WATER_L, SERVICE_BAR - 2.0, 15.0)

    def gauge_bar(self, celsius: float) -> float:
        """What the gauge shows, in whole bars as one reads it."""
        return float(round(gas.gauge_bar_at(self.left_g / 1000, WATER_L, celsius)))

    def side_cut(self) -> None:
        self.left_g -= SIDE_G * self.hands.rng.uniform(0.85, 1.15)
        self.since_clean += 1

    def morning(self, air: Air, *, by: Person) -> dict[ReadingKind, float]:
        """What is read that morning; changes the cylinder first where it would not last the day."""
        rng = self.hands.rng
        self.left_g -= DAY_G
        if self.gauge_bar(air.celsius) < 24:
            self.change_cylinder(by=by)
        self.heater_ma += rng.gauss(0, 1.5) - 0.05 * (self.heater_ma - 412)
        return {
            ReadingKind.ROOM_C: air.celsius,
            ReadingKind.ROOM_RH: air.humidity,
            ReadingKind.NITROGEN_BAR: self.gauge_bar(air.celsius),
            ReadingKind.HOLD_DOWN_KPA: round(36 + rng.gauss(0, 0.8), 1),
            ReadingKind.CHIP_KPA: round(14.5 - 0.035 * self.since_clean + rng.gauss(0, 0.25), 1),
            ReadingKind.HEATER_MA: float(round(self.heater_ma + rng.gauss(0, 2))),
        }
