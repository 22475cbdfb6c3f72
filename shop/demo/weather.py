"""The weather of a town that does not exist: seasons, spells, and what of them gets into the room."""

from dataclasses import dataclass
from datetime import date
from math import cos, tau
from random import Random


@dataclass(frozen=True)
class Air:
    """Room air in the morning: degrees Celsius and percent relative humidity."""

    celsius: float
    humidity: float


class Weather:
    """Day by day, one spell leading to the next; the same seed gives the same years."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.spell = 0.0

    def on(self, day: date) -> Air:
        """The room's air that morning. Call it for each day once, in order."""
        summer = -cos(tau * (day.timetuple().tm_yday - 20) / 365.25)  # -1 late in January, 1 in July
        self.spell = 0.75 * self.spell + self.rng.gauss(0, 1)
        celsius = 20.4 + 1.5 * summer + 0.35 * self.spell + self.rng.gauss(0, 0.25)
        humidity = 46 + 7 * summer - 3.0 * self.spell + self.rng.gauss(0, 2)
        return Air(round(celsius, 1), float(round(min(max(humidity, 22), 78))))
