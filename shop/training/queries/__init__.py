"""Reading training, shaped for the pages, by topic."""

from shop.training.queries.acts import (
    AHEAD,
    Held,
    Matrix,
    acts,
    authorities,
    duties_that_need,
    held_now,
    holders,
    matrix,
    on_day,
)

__all__ = [
    "AHEAD",
    "Held",
    "Matrix",
    "acts",
    "authorities",
    "duties_that_need",
    "held_now",
    "holders",
    "matrix",
    "on_day",
]
