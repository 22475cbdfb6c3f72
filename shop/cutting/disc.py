"""A side drawn on its disc, to scale: the music and its bands, lead-in, lead-out and finishing groove."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from django.utils.html import escape
from django.utils.safestring import SafeString

from shop import picture
from shop.calc import units
from shop.calc.groove import HOLE_MM, Disc
from shop.calc.layout import Kind, Layout, Stretch
from shop.cutting.models import DiscSize
from shop.cutting.wording import minutes_words
from shop.people.fields import unit_for
from shop.people.models import Units

#: Between the lines that stand for grooves, in mm: the grooves themselves are ten times as close.
_APART_MM = 1.7
#: Degrees from one title's number to the next one's, so that they stand clear of each other.
_STEP = 22
#: The least that a band is drawn wide, in mm.
_SEEN_MM = 0.9
#: Below this width a title's number has no room.
_ROOM_MM = 6.0


def disc_picture(laid: Layout, disc: Disc, *, blank_in: int, title: str, person: Units) -> SafeString:
    """The side on its blank, 1 unit to the mm. title: names the picture; person: whose units it speaks."""
    blank_mm = blank_in * 25.4
    half = blank_mm / 2 + 2
    drawn = "".join(_drawn(laid, disc, blank_mm, person))
    return picture.drawn(
        drawn,
        box=(-half, -half, 2 * half, 2 * half + 13),
        width_mm=110,
        title=title,
        describes=describe(laid, disc, person=person),
    )


def describe(laid: Layout, disc: Disc, *, person: Units) -> str:
    """The picture in words."""
    titles = [one for one in laid.stretches if one.kind == Kind.MUSIC]
    bands = [one for one in laid.stretches if one.kind == Kind.BAND]
    many = f", in {len(titles)} titles with {_count(len(bands), 'band')} between them" if len(titles) > 1 else ""
    if not laid.last_groove_mm:
        return f"The music begins at {_mm(laid.music_from_mm, person)} across{many} and would run through the centre."
    music = (
        f"The music runs from {_mm(laid.music_from_mm, person)} across in to {_mm(laid.last_groove_mm, person)}{many}."
    )
    if not laid.plan.fits:
        over = "" if laid.last_groove_mm > disc.finishing_mm else ", and over the finishing groove"
        return f"{music} That is past {_mm(disc.inner_mm, person)}, the last groove a {_record(disc)} may have{over}."
    return f"{music} The lead-out goes on in to the finishing groove at {_mm(disc.finishing_mm, person)}."


@dataclass(frozen=True)
class Row:
    """A stretch as the table beside the picture has it."""

    name: str
    stretch: Stretch
    is_music: bool


def rows(laid: Layout, names: list[str]) -> list[Row]:
    """The stretches of a side from the outside in. names: of its titles, none where nobody has said."""
    return [Row(_name_of(one, names), one, one.kind == Kind.MUSIC) for one in laid.stretches]


def names_of(titles: Sequence[Mapping[str, Any]]) -> list[str]:
    """What a booked side's titles are called; none where it has fewer than two."""
    return [str(title["name"]) for title in titles] if len(titles) > 1 else []


def _name_of(one: Stretch, names: list[str]) -> str:
    """What a stretch is called: a title by its number and name, if it has one."""
    if one.kind == Kind.MUSIC:
        name = names[one.place - 1] if one.place <= len(names) else ""
        if not names:
            return "Music"
        return f"{one.place} {name}".strip() if name else f"Title {one.place}"
    if one.kind == Kind.BAND:
        return f"Band after {one.place}"
    return str(one.kind).capitalize()


def _drawn(laid: Layout, disc: Disc, blank_mm: float, person: Units) -> Iterator[str]:
    yield _ring(blank_mm / 2, picture.EDGE, 0.9, fill=picture.SHEET)
    yield _ring(disc.edge_mm / 2, picture.EDGE, 0.5, dashes="3 3")
    yield _ring(disc.label_mm / 2, picture.EDGE, 0.7, fill=picture.WASH)
    for one in laid.stretches:
        yield from _stretch(one, disc)
    yield _ring(HOLE_MM / 2, picture.EDGE, 0.7, fill=picture.SHEET)
    yield _text(0, -15, _record(disc), 12)
    yield _text(0, 26, minutes_words(sum(one.seconds for one in laid.stretches if one.kind in _PLAYED)), 16, bold=True)
    if not laid.plan.fits:
        yield _ring(disc.inner_mm / 2, picture.RUBY, 1.2)
    yield from _numbers([one for one in laid.stretches if one.kind == Kind.MUSIC])
    yield from _scale(blank_mm / 2, person)


_PLAYED = (Kind.MUSIC, Kind.BAND)


def _stretch(one: Stretch, disc: Disc) -> Iterator[str]:
    outer, inner = one.from_mm / 2, one.to_mm / 2
    if one.kind == Kind.MUSIC:
        yield _ring((outer + inner) / 2, picture.RULE, outer - inner, opacity=0.55)
        lines = max(1, round((outer - inner) / _APART_MM))
        for line in range(lines + 1):
            radius = outer - (outer - inner) * line / lines
            over = radius < disc.inner_mm / 2 - 1e-6
            yield _ring(radius, picture.RUBY if over else picture.QUIET, 0.55 if over else 0.32)
    elif one.kind == Kind.BAND:
        yield _ring((outer + inner) / 2, picture.SHEET, max(_SEEN_MM, outer - inner))
    elif one.kind == Kind.FINISHING:
        yield _ring(outer, picture.INK, 0.8)
    elif outer - inner > 0.05:
        yield _spiral(outer, inner, one.turns)


def _spiral(outer: float, inner: float, turns: float) -> str:
    """A spiral of half circles, each a little smaller than the one before."""
    halves = max(1, round(2 * turns))
    radii = [outer - (outer - inner) * step / halves for step in range(halves + 1)]
    points = [(radius if step % 2 == 0 else -radius) for step, radius in enumerate(radii)]
    means = [(before + after) / 2 for before, after in pairwise(radii)]
    arcs = [f"A{mean:.2f} {mean:.2f} 0 0 1 {end:.2f} 0" for mean, end in zip(means, points[1:], strict=True)]
    return f'<path d="M{points[0]:.2f} 0{"".join(arcs)}" fill="none" {_paint(picture.INK, 0.6)}/>'


def _numbers(titles: list[Stretch]) -> Iterator[str]:
    """Each title's number within its music, where there is more than one and they have room."""
    if len(titles) < 2:
        return
    first = -90 - _STEP * (len(titles) - 1) / 2
    for place, one in enumerate(titles):
        if one.width_mm < _ROOM_MM:
            continue
        angle, radius = math.radians(first + _STEP * place), (one.from_mm + one.to_mm) / 4
        x, y = radius * math.cos(angle), radius * math.sin(angle)
        size = min(11.0, one.width_mm * 0.85)
        yield (
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{size * 0.62:.2f}" fill="{picture.SHEET}" class="f-sheet"/>'
            f"{_text(x, y + size * 0.36, str(one.place), size, bold=True)}"
        )


def _scale(below: float, person: Units) -> Iterator[str]:
    """A bar that says how large it all is."""
    inches = unit_for("length", person) == "in"
    long, words = (50.8, "2 in") if inches else (50.0, "50 mm")
    left, y = -below, below + 9
    yield f'<path d="M{left:.2f} {y - 3:.2f}v6m0-3h{long}m0-3v6" fill="none" {_paint(picture.INK, 0.7)}/>'
    yield _text(left + long + 4, y + 3.5, words, 10, start=True)


def _ring(radius: float, colour: str, width: float, *, fill: str = "", dashes: str = "", opacity: float = 1.0) -> str:
    filled = f'fill="{fill}" class="f-{picture.name_of(fill)} ' if fill else 'fill="none" class="'
    more = f' stroke-dasharray="{dashes}"' if dashes else ""
    more += f' stroke-opacity="{opacity:g}"' if opacity != 1 else ""
    line = f'p-{picture.name_of(colour)}" stroke="{colour}" stroke-width="{width:.2f}"'
    return f'<circle r="{radius:.2f}" {filled}{line}{more}/>'


def _paint(colour: str, width: float) -> str:
    return f'class="p-{picture.name_of(colour)}" stroke="{colour}" stroke-width="{width:.2f}"'


def _text(x: float, y: float, words: str, size: float, *, bold: bool = False, start: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    anchor = "start" if start else "middle"
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:.1f}" text-anchor="{anchor}" fill="{picture.INK}" '
        f'class="f-ink"{weight}>{escape(words)}</text>'
    )


def _record(disc: Disc) -> str:
    return str(DiscSize(disc.record_in).label)


def _mm(mm: float, person: Units) -> str:
    return units.show("length", mm, unit_for("length", person))


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")
