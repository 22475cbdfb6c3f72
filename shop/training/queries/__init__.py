"""Reading training, shaped for the pages, by topic."""

from shop.training.queries.acts import (
    AHEAD,
    Held,
    Matrix,
    act_names,
    acts,
    authorities,
    duties_that_need,
    held_now,
    holders,
    matrix,
    on_day,
)
from shop.training.queries.programmes import Way, needs_of, questions_as_answered, steps_as_signed, ways_to

__all__ = [
    "AHEAD",
    "Held",
    "Matrix",
    "Way",
    "act_names",
    "acts",
    "authorities",
    "duties_that_need",
    "held_now",
    "holders",
    "matrix",
    "needs_of",
    "on_day",
    "questions_as_answered",
    "steps_as_signed",
    "ways_to",
]
