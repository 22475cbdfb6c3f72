"""Room values in words: in the units of whoever reads, with the slip of a unit noticed."""

import re
from collections.abc import Callable
from datetime import datetime

from django.utils import timezone

from shop import clock
from shop.calc import units
from shop.people.fields import PREFERENCE, unit_for
from shop.people.models import Units
from shop.room.contents import REFERENCE_BAR, REFERENCE_C
from shop.room.kinds import Kind
from shop.room.models import GasUse, Limit, Reading
from shop.wording import grouped, per_cent


def said(quantity: str, value: float, reader: Units) -> str:
    """A stored value of a kind of quantity in the reader's unit, with the unit."""
    return units.show(quantity, value, unit_for(quantity, reader))


def when(reading: Reading) -> str:
    """When a reading was taken, short: "today at 08:04", "yesterday at 08:10", "on 21 Nov at 08:02"."""
    return moment_words(reading.at)


def moment_words(at: datetime) -> str:
    """A moment in the words of `when`."""
    local = timezone.localtime(at)
    day, today = local.date(), clock.today()
    days_ago = (today - day).days
    if days_ago == 0:
        named = "today"
    elif days_ago == 1:
        named = "yesterday"
    else:
        named = f"on {day.day} {day:%b}" + ("" if day.year == today.year else f" {day.year}")
    return f"{named} at {local:%H:%M}"


def before(reading: Reading | None, kind: Kind, reader: Units) -> str:
    """The line under a box: the value before it, and when that was; of a gauge, whose, where that cylinder is off."""
    if reading is None:
        return "No reading before this one."
    words = when(reading)
    told = f"{words[0].upper()}{words[1:]}: {said(kind.quantity, reading.value, reader)}"
    if reading.cylinder is not None and reading.cylinder.state != "connected":
        told += f", on cylinder {reading.cylinder.mark}, which is off by now"
    return told


def unit_slip(quantity: str, value: float, reader: Units, fits: Callable[[float], bool]) -> str:
    """A question about the unit, or "": whether the number, meant in another unit, would fit.

    value: as typed, in the stored unit; fits: whether a stored value is a likely one. It is taken to be typed in the
    unit in which it is the roundest number (80 inHg, not 270.912 kPa), of two such in the reader's own; in any other
    it is a figure that nobody typed.
    """
    own = unit_for(quantity, reader)
    keys = sorted(units.UNITS[quantity], key=lambda key: key != own)
    usual = [key for key in keys if not units.unit_of(quantity, key).is_rare]
    typed = min(usual, key=lambda key: _decimals(units.from_stored(quantity, value, key)))
    number = units.from_stored(quantity, value, typed)
    figure = _as_typed(number, units.unit_of(quantity, typed).decimals)
    for meant in keys:
        if meant == typed or units.unit_of(quantity, meant).is_rare:
            continue
        try:
            other = units.to_stored(quantity, number, meant)
        except ValueError:  # colder than anything can be, in that unit
            continue
        if not fits(other):
            continue
        typed_label, meant_label = units.label(quantity, typed), units.label(quantity, meant)
        lead = ""
        if quantity in PREFERENCE:
            lead = f"{figure} {typed_label} would be {units.show(quantity, value, meant)}. "
        return f"{lead}Did you mean {figure} {meant_label} ({units.show(quantity, other, typed)})?"
    return ""


def _decimals(number: float) -> int:
    """How many decimals a number has; 9 for one with more than four."""
    return next((n for n in range(5) if abs(number - round(number, n)) <= 1e-9 * max(1.0, abs(number))), 9)


def _as_typed(number: float, decimals: int) -> str:
    """A number with the decimals that it has, but no more than its unit is shown with, or two."""
    return f"{number:.{min(_decimals(number), max(2, decimals))}f}".replace("-", "\u2212")


def limit_words(about: Kind, limit: Limit | None, reader: Units) -> str:
    """The shop's limits of a kind in one line; "" where none are set."""
    if limit is None:
        return ""
    words = []
    for grade in ("care", "hold"):
        low, high = getattr(limit, f"{grade}_below"), getattr(limit, f"{grade}_above")
        sides = [
            f"{side} {said(about.quantity, edge, reader)}"
            for side, edge in (("below", low), ("above", high))
            if edge is not None
        ]
        if sides:
            words.append(f"{grade} {' or '.join(sides)}")
    line = "; ".join(words)
    return f"{line[0].upper()}{line[1:]}." if line else ""


def by_gauge(read_at: datetime, sides_since: int) -> str:
    """What an amount of gas rests on: "by the gauge at 07:58, less 2 sides since"."""
    read = moment_words(read_at).removeprefix("today ")
    return f"by the gauge {read}{less_words(sides_since)}"


def less_words(sides_since: int) -> str:
    """The sides taken off since the gauge was read: ", less 2 sides since"; "" for none."""
    return f", less {sides_since} side{'' if sides_since == 1 else 's'} since" if sides_since else ""


def volume_words(m3: float, reader: Units) -> str:
    """Gas as a volume, never without the state it is meant at: "6.66 m³ at 15 °C and 1 bar"."""
    unit = unit_for("volume", reader)
    volume = f"{m3:.2f}\u00a0m³" if unit == "m3" else units.show("volume", m3, unit)
    celsius = said("temperature", REFERENCE_C, reader).replace(".0\u00a0", "\u00a0")
    own = unit_for("pressure", reader)
    bar = f"{units.from_stored('pressure', REFERENCE_BAR, own):.3g}\u00a0{units.label('pressure', own)}"
    return f"{volume} at {celsius} and {bar}{' absolute' if own == 'psi' else ''}"


def kg_words(grams: float) -> str:
    """An amount of gas as people say it: "0.12 kg", "9.2 kg"."""
    kg = max(0.0, grams) / 1000
    return f"{kg:.{2 if kg < 1 else 1}f}\u00a0kg"


def sides_words(sides: int, used_g: float, then: str) -> str:
    """What was used of gas that went: "no side was cut since", "the 2 sides cut since take some 0.12 kg"."""
    if sides == 0:
        return f"no side was cut {then}"
    one = sides == 1
    cut = "the side cut" if one else f"the {sides} sides cut"
    return f"{cut} {then} {'takes' if one else 'take'} some {kg_words(used_g)}"


def left_words(share: float, use: GasUse) -> str:
    """The share of gas left, in words, against the share at which a spare must stand ready."""
    return f"{per_cent(share)} of the gas left; from {per_cent(use.low_share)} on a spare must stand ready"


def minutes_words(minutes: int) -> str:
    """What comes after "every": "minute", "10 minutes", "hour", "2 hours", "day"."""
    for step, name, one in ((24 * 60, "days", "day"), (60, "hours", "hour")):
        if minutes % step == 0:
            count = minutes // step
            return one if count == 1 else f"{count} {name}"
    return "minute" if minutes == 1 else f"{minutes} minutes"


#: Room quantities that are told in another unit by preference, by how their stored unit is written.
_RETOLD = {"bar": "pressure", "°C": "temperature"}
_MEANT = re.compile(r" (?:Was |Did you mean |[\u2212\d.]+[ \u00a0]\S+ would be )")
_FIGURE = re.compile(r"(\u2212?[\d\u202f]+(?:\.\d+)?)\u00a0(bar|°C)")


def retold_reason(reason: str, reader: Units) -> str:
    """Why an instrument's reading was not kept, kept in the stored units, in the reader's; what was meant stands as it
    was sent."""

    def other(found: re.Match[str]) -> str:
        quantity = _RETOLD[found[2]]
        if unit_for(quantity, reader) == units.default_unit(quantity):
            return found[0]
        return said(quantity, float(found[1].replace("\u2212", "-").replace("\u202f", "")), reader)

    asks = _MEANT.search(reason)
    told = reason[: asks.start()] if asks else reason
    return _FIGURE.sub(other, told) + reason[len(told) :]


def span_words(hours: float) -> str:
    """For how long: "40 s", "15 min", "9 h"; whole hours from two on."""
    seconds = round(hours * 3600)
    if seconds < 60:
        return f"{max(1, seconds)}\u00a0s"
    return f"{round(seconds / 60)}\u00a0min" if hours < 2 else f"{grouped(round(hours))}\u00a0h"


def readings_words(count: int) -> str:
    """ "1 reading", "12 readings"."""
    return f"{grouped(count)} reading{'' if count == 1 else 's'}"
