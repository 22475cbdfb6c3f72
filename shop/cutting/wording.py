"""How the figures of cutting are said."""

from django.utils import timezone

from shop.calc import units
from shop.calc.groove import Disc, SidePlan
from shop.cutting.models import DiscSize, Life, Overruling, Side, TipPhoto
from shop.people.fields import unit_for
from shop.people.models import Units
from shop.wording import chance_words

__all__ = ["age_words", "chance_words", "fit_words", "level_words", "master_words", "minutes_words", "source_words"]


def age_words(of: Life | TipPhoto | Overruling) -> str:
    """The hours an edge has cut, here and before: "12.5", "at least 3.0"."""
    return f"{'' if of.age_is_known else 'at least '}{of.age_s / 3600:.1f}"


def minutes_words(seconds: float) -> str:
    """A length as it is written on a box: "21:30", "1:02:05"."""
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{left:02}" if hours else f"{minutes}:{left:02}"


def fit_words(found: SidePlan, *, play_s: int, disc_in: int, person: Units) -> str:
    """Whether `play_s` seconds, planned as `found`, fit, and by how much: one or two sentences."""
    record = DiscSize(disc_in).label
    if found.fits:
        spare = _length(found.spare_mm, person)
        more = minutes_words(found.longest_minutes * 60 - play_s)
        return f"It fits a {record} record, with {spare} of radius to spare: room for {more} more."
    missing = _length(found.short_by_mm, person)
    return (
        f"It does not fit a {record} record: {missing} of radius is missing, "
        f"{minutes_words(found.short_by_minutes * 60)} too long. There is room for "
        f"{minutes_words(found.longest_minutes * 60)}."
    )


def master_words(side: Side) -> str:
    """A master in a list: "B-0007 A, cut 3 Mar 2025"."""
    local = timezone.localtime(side.at)
    return f"{side.wanted or f'Side {side.pk}, without a booking'}, cut {local.day} {local:%b %Y}"


def level_words(level_db: float) -> str:
    """A level as it is written: "\u221256.5 dB"."""
    return f"{level_db:g}".replace("-", "\u2212") + "\u00a0dB"


def source_words(disc: Disc) -> str:
    """Where a disc's limits come from, in words: shop.calc.groove names them by field."""
    said = {
        "outer_mm": "first groove",
        "inner_mm": "last groove",
        "finishing_mm": "finishing groove",
        "edge_mm and label_mm": "edge and label",
        "blank_in": "blank",
    }
    found = disc.source
    for name, words in said.items():
        found = found.replace(f"{name}:", f"{words}:")
    return found


def _length(mm: float, person: Units) -> str:
    return units.show("length", mm, unit_for("length", person))
