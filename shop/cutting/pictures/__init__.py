"""Pictures of cutting, by topic; import from here."""

from shop.cutting.pictures.lives import describe, kind_picture, life_picture, own_words, share_rows
from shop.cutting.pictures.noise import chart_picture, chart_words, trend_picture, trend_words

__all__ = [
    "chart_picture",
    "chart_words",
    "describe",
    "kind_picture",
    "life_picture",
    "own_words",
    "share_rows",
    "trend_picture",
    "trend_words",
]
