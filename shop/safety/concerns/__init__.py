"""What safety worries about, by topic: each has a generator `concerns(now)`, named in QUESTIONS."""

from collections.abc import Callable, Iterator
from datetime import datetime

from shop.concern import Concern

QUESTIONS: tuple[Callable[[datetime], Iterator[Concern]], ...] = ()


def concerns(now: datetime) -> list[Concern]:
    """All of them."""
    return [one for question in QUESTIONS for one in question(now)]
