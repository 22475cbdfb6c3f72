"""Colours are told apart: WCAG 2.2 contrast, computed from the tokens, in both themes and on paper.

Text needs 4.5 (criterion 1.4.3), borders, icons, chart lines and the focus ring 3 (1.4.11). axe judges only the first.
"""

import re
from pathlib import Path

import pytest

from shop import picture

TOKENS = Path(picture.__file__).parent / "static" / "shop" / "tokens.css"

_NAMED = re.compile(r"--([a-z-]+):\s*(#[0-9a-f]{3,6})\b", re.IGNORECASE)


def themes() -> dict[str, dict[str, str]]:
    light, dark = TOKENS.read_text().split("@media (prefers-color-scheme: dark)")
    by_day = dict(_NAMED.findall(light))
    return {"light": by_day, "dark": by_day | dict(_NAMED.findall(dark))}


def luminance(colour: str) -> float:
    """Relative luminance, 0 to 1, as WCAG 2.2 defines it."""
    digits = colour.removeprefix("#")
    digits = "".join(d * 2 for d in digits) if len(digits) == 3 else digits
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


GROUNDS = ("paper", "sheet", "sunk")
TEXT = [
    *((word, ground) for word in ("ink", "quiet") for ground in GROUNDS),
    *(("ruby", ground) for ground in (*GROUNDS, "ruby-wash")),
    ("ink", "ruby-wash"),
    ("on-ruby", "ruby-fill"),
    ("on-block", "block"),
    ("on-lacquer", "lacquer"),
    ("on-lacquer-quiet", "lacquer"),
    ("on-lacquer", "lacquer-rule"),
]
LINES = [
    *(("edge", ground) for ground in GROUNDS),
    *(("ruby", ground) for ground in GROUNDS),
    *(("ruby-fill", ground) for ground in ("paper", "sheet")),
    *(("block", ground) for ground in ("paper", "sheet")),
    ("focus", "paper"),
    ("focus", "sheet"),
    ("focus", "focus-gap"),
    ("ruby-lit", "lacquer"),
    ("on-lacquer-quiet", "lacquer"),
]


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("word", "ground"), TEXT)
def test_text_can_be_read(theme: str, word: str, ground: str) -> None:
    tokens = themes()[theme]
    assert contrast(tokens[word], tokens[ground]) >= 4.5


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("line", "ground"), LINES)
def test_borders_icons_and_focus_can_be_seen(theme: str, line: str, ground: str) -> None:
    tokens = themes()[theme]
    assert contrast(tokens[line], tokens[ground]) >= 3


def test_contrast_is_as_wcag_defines_it() -> None:
    assert contrast("#000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#fff") == pytest.approx(4.48, abs=0.005)  # well known to fall just short


def test_pictures_are_drawn_in_the_light_colours() -> None:
    light = themes()["light"]
    names = {"ink": picture.INK, "quiet": picture.QUIET, "edge": picture.EDGE, "rule": picture.RULE}
    names |= {"ruby": picture.RUBY, "ruby-wash": picture.WASH, "sheet": picture.SHEET}
    assert {name: light[name] for name in names} == names
