"""A vacuum line as resistances in a row, for tests: what each gauge shows when something in it is amiss.

One pump for hold-down and chip. A loss grows with the square of the flow, the pump's suction falls with it in a
straight line. The figures are made up so that a clean line shows about what the demo room reads.
"""

from dataclasses import dataclass, replace

from scipy.optimize import brentq

from shop.calc.vacuum import Point


@dataclass(frozen=True)
class Line:
    """dead_end: suction of the pump with all shut, kPa; most_flow: that it moves with all open; the rest are losses in
    kPa per flow squared: of the hose, the opening at the head, the filter, the pipe to the platter and what leaks in
    there under a disc."""

    dead_end: float = 60.0
    most_flow: float = 194.0
    hose: float = 0.0102
    head: float = 0.0058
    filter: float = 0.00099
    pipe: float = 0.16
    under_disc: float = 1.44

    def suction(self) -> dict[Point, float]:
        """What each gauge shows."""

        def flows(trap: float) -> tuple[float, float]:
            return (trap / (self.hose + self.head)) ** 0.5, (trap / (self.pipe + self.under_disc)) ** 0.5

        def over(trap: float) -> float:
            flow = sum(flows(trap))
            return trap + self.filter * flow**2 - self.dead_end * (1 - flow / self.most_flow)

        trap = brentq(over, 1e-9, self.dead_end)
        chip, platter = flows(trap)
        return {
            Point.PLATTER: self.under_disc * platter**2,
            Point.HOSE: self.head * chip**2,
            Point.TRAP: trap,
            Point.PUMP: trap + self.filter * (chip + platter) ** 2,
        }

    def with_pick_up(self, times: float) -> "Line":
        return replace(self, head=self.head * times)

    def with_hose(self, times: float) -> "Line":
        return replace(self, hose=self.hose * times)

    def with_filter(self, times: float) -> "Line":
        return replace(self, filter=self.filter * times)

    def with_leak(self, times: float) -> "Line":
        return replace(self, under_disc=self.under_disc / times)

    def with_pump(self, share: float) -> "Line":
        return replace(self, dead_end=self.dead_end * share)
