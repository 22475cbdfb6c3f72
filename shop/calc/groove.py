"""Groove geometry: the section, the spiral, the chip, and whether a side fits its disc.

Diameters and radial spans are in mm, what a microscope sees is in um (1 um = 0.001 mm), lengths of groove in m.
"""

import math
from dataclasses import dataclass

from shop.calc.bounds import number

#: Turns per minute by short name. "78" is 3600/46 (60 Hz mains; RCA Review 1949: 78.26), "78 at 50 Hz" is 6000/77.
RPM: dict[str, float] = {"16": 50 / 3, "33": 100 / 3, "45": 45.0, "78": 3600 / 46, "78 at 50 Hz": 6000 / 77}


@dataclass(frozen=True)
class Disc:
    """What a record of one nominal size allows: diameters in mm, the usual blank in inches.

    edge_mm: of the record itself, where no lead-in can begin further out; label_mm: the widest label.
    """

    record_in: int
    blank_in: int
    outer_mm: float
    inner_mm: float
    finishing_mm: float
    edge_mm: float
    label_mm: float
    source: str


_DISC_SOURCE = (
    "outer_mm: IEC 60098:1987, outer diameter of the recorded surface; inner_mm: JIS S8502-1973, music ends outside; "
    "finishing_mm: IEC 60098:1987, finishing groove; edge_mm and label_mm: JIS S8502-1973; blank_in: common practice, "
    "no source"
)
#: The hole of a record, JIS S8502-1973, in mm.
HOLE_MM = 7.24

#: By the record's nominal size in inches.
DISCS: dict[int, Disc] = {
    12: Disc(12, 14, 292.6, 115.2, 106.4, 301.0, 102.0, _DISC_SOURCE),
    10: Disc(10, 12, 241.8, 115.2, 106.4, 251.0, 102.0, _DISC_SOURCE),
    7: Disc(7, 10, 168.3, 106.0, 97.4, 175.0, 93.0, _DISC_SOURCE),
}

_UM_PER_INCH = 25_400.0


def _half_angle(angle_deg: object) -> float:
    return math.radians(number("angle_deg", angle_deg, at_least=20, at_most=160)) / 2


def _tip(width_um: object, angle_deg: object, tip_radius_um: object) -> tuple[float, float, float]:
    """Width, half angle and tip radius, checked: the round tip must meet the walls below the surface."""
    width = number("width_um", width_um, above=0, at_most=10_000)
    half = _half_angle(angle_deg)
    radius = number("tip_radius_um", tip_radius_um, at_least=0, at_most=width / (2 * math.cos(half)))
    return width, half, radius


def section_um2(width_um: float, angle_deg: float = 90.0, tip_radius_um: float = 0.0) -> float:
    """Cross-section of the groove in um2: a vee of `angle_deg` (included), `width_um` wide at the surface.

    A tip radius r rounds the bottom and takes r^2 (cot(a/2) - (pi - a)/2) away; at 90 degrees that is (1 - pi/4) r^2.
    Elementary geometry. ValueError if the tip is too round to meet the walls below the surface.
    """
    width, half, radius = _tip(width_um, angle_deg, tip_radius_um)
    cot = 1 / math.tan(half)
    return width * width * cot / 4 - radius * radius * (cot - (math.pi / 2 - half))


def depth_um(width_um: float, angle_deg: float = 90.0, tip_radius_um: float = 0.0) -> float:
    """Depth of the groove in um. A tip radius r makes it r (1/sin(a/2) - 1) shallower. Elementary geometry."""
    width, half, radius = _tip(width_um, angle_deg, tip_radius_um)
    return width / (2 * math.tan(half)) - radius * (1 / math.sin(half) - 1)


def lines_per_inch(pitch_um: float) -> float:
    """Grooves per inch of radius for a pitch in um, 0.001 or more."""
    return _UM_PER_INCH / number("pitch_um", pitch_um, at_least=0.001, at_most=100_000)


def pitch_from_lines(lines: float) -> float:
    """Pitch in um for so many lines per inch, 0.001 or more."""
    return _UM_PER_INCH / number("lines", lines, at_least=0.001, at_most=100_000)


def _diameters(outer_mm: object, inner_mm: object, *, smallest: float) -> tuple[float, float]:
    outer = number("outer_mm", outer_mm, above=0, at_most=600)
    return outer, number("inner_mm", inner_mm, at_least=smallest, below=outer)


def spiral_length_m(outer_mm: float, inner_mm: float, pitch_um: float) -> float:
    """Length in m of an Archimedean spiral between two diameters in mm, exact closed form.

    With r = a theta and a = pitch / 2 pi, the arc from the centre to r is [r sqrt(r^2 + a^2) + a^2 asinh(r/a)] / 2a.
    ValueError unless 0 <= inner_mm < outer_mm <= 600 and pitch_um is above 0.
    """
    outer, inner = _diameters(outer_mm, inner_mm, smallest=0)
    return arc_m(outer, inner, number("pitch_um", pitch_um, at_least=0.01, at_most=100_000))


def arc_m(outer_mm: float, inner_mm: float, pitch_um: float) -> float:
    """`spiral_length_m` of figures that were looked at already."""
    a = pitch_um / 1000 / (2 * math.pi)

    def arc(radius: float) -> float:
        return (radius * math.hypot(radius, a) + a * a * math.asinh(radius / a)) / (2 * a)

    return (arc(outer_mm / 2) - arc(inner_mm / 2)) / 1000


def groove_speed_mm_s(diameter_mm: float, rpm: float) -> float:
    """Speed of the groove past the stylus in mm/s, at a diameter in mm."""
    diameter = number("diameter_mm", diameter_mm, at_least=0, at_most=600)
    return math.pi * diameter * _rpm(rpm) / 60


def _rpm(rpm: object) -> float:
    return number("rpm", rpm, at_least=0.001, at_most=200)


def chip_g(
    width_um: float,
    length_m: float,
    density_g_cm3: float,
    tip_radius_um: float = 0.0,
    *,
    angle_deg: float = 90.0,
) -> float:
    """Chip lifted from so many metres of unmodulated groove, in g.

    Modulation, spirals and lead-out add to it: take it as right within half either way (common practice, no source).
    Cast film is 1.58 to 1.65 g/cm3 (a producer's data sheet, second hand); the room sets its own figure.
    """
    length = number("length_m", length_m, at_least=0, at_most=100_000)
    density = number("density_g_cm3", density_g_cm3, above=0, at_most=25)
    return section_um2(width_um, angle_deg, tip_radius_um) * length * density * 1e-6


def longest_minutes(rpm: float, outer_mm: float, inner_mm: float, pitch_um: float, *, extra_mm: float = 0.0) -> float:
    """Minutes of groove that fit between two diameters at one pitch, less `extra_mm` of radius kept for spirals."""
    outer, inner = _diameters(outer_mm, inner_mm, smallest=0)
    pitch = number("pitch_um", pitch_um, at_least=0.01, at_most=100_000)
    extra = number("extra_mm", extra_mm, at_least=0, below=(outer - inner) / 2)
    return ((outer - inner) / 2 - extra) * 1000 / pitch / _rpm(rpm)


@dataclass(frozen=True)
class SidePlan:
    """A side held against its disc.

    turns               revolutions of the side
    pitch_um            the pitch given, or the one that just fills the room there is
    lines_per_inch      the same, in grooves per inch of radius
    span_mm             radius the music takes at that pitch
    inner_mm            diameter where the last groove lies; 0 if the side would run through the centre
    length_m            length of that groove
    land_um             land left between grooves at that pitch; below 0 they would overlap
    fits                whether there is room
    spare_mm            radius left over, 0 if it does not fit
    short_by_mm         radius missing, 0 if it fits
    short_by_minutes    minutes that would have to go, 0 if it fits
    longest_minutes     what there is room for
    outer_speed_mm_s    groove speed where the music starts
    inner_speed_mm_s    groove speed at the last groove

    Without a given pitch, spare and short are counted at the tightest pitch allowed, groove width plus land.
    """

    turns: float
    pitch_um: float
    lines_per_inch: float
    span_mm: float
    inner_mm: float
    length_m: float
    land_um: float
    fits: bool
    spare_mm: float
    short_by_mm: float
    short_by_minutes: float
    longest_minutes: float
    outer_speed_mm_s: float
    inner_speed_mm_s: float


def plan_side(
    minutes: float,
    rpm: float,
    outer_mm: float,
    inner_mm: float,
    width_um: float,
    land_um: float,
    *,
    pitch_um: float | None = None,
    extra_mm: float = 0.0,
) -> SidePlan:
    """Whether `minutes` of music fit between the first groove and the innermost allowed one, and by how much (not).

    outer_mm and inner_mm are diameters. extra_mm is radius kept back for lead-in, spirals between tracks and lead-out;
    the length counts it at the outer edge, and leaves it out.
    Without pitch_um, the pitch that fills the room is found, and the side fits if that leaves the land asked for. With
    pitch_um, it fits if the last groove lies no further in than inner_mm; the land it leaves is told, not judged.
    ValueError for rpm or minutes not above 0, inner_mm not inside outer_mm, a pitch narrower than the groove (grooves
    would overlap), or extra_mm that leaves no room.
    """
    minutes = number("minutes", minutes, above=0, at_most=1440)
    rpm = _rpm(rpm)
    outer, inner = _diameters(outer_mm, inner_mm, smallest=1)
    width = number("width_um", width_um, above=0, at_most=1000)
    land = number("land_um", land_um, at_least=0, at_most=1000)
    room = (outer - inner) / 2
    extra = number("extra_mm", extra_mm, at_least=0, below=room)
    room -= extra
    turns = minutes * rpm
    if pitch_um is None:
        pitch, counted = room * 1000 / turns, width + land
    else:
        pitch = counted = number("pitch_um", pitch_um, at_least=width, at_most=10_000)
    span = turns * pitch / 1000
    last = max(0.0, outer - 2 * (span + extra))
    spare = room - turns * counted / 1000
    fits = spare >= -1e-9  # a side that fits exactly must not fail on the last bit
    longest = room * 1000 / counted / rpm
    return SidePlan(
        turns=turns,
        pitch_um=pitch,
        lines_per_inch=_UM_PER_INCH / pitch,
        span_mm=span,
        inner_mm=last,
        length_m=arc_m(outer - 2 * extra, last, pitch),
        land_um=pitch - width,
        fits=fits,
        spare_mm=max(0.0, spare),
        short_by_mm=0.0 if fits else -spare,
        short_by_minutes=0.0 if fits else minutes - longest,
        longest_minutes=longest,
        outer_speed_mm_s=groove_speed_mm_s(outer, rpm),
        inner_speed_mm_s=groove_speed_mm_s(last, rpm),
    )
