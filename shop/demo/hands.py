"""Presses the demo room's buttons: the same actions a person would, answering "are you sure?" with yes."""

from collections.abc import Callable
from random import Random
from typing import Any
from uuid import UUID

from shop.refusal import Doubtful


class Hands:
    def __init__(self, rng: Random) -> None:
        self.rng = rng

    def do(self, act: Callable[..., Any], /, **typed: Any) -> Any:
        """Run an action with a fresh token; confirm whatever it asks about."""
        sure: dict[str, list[str]] = {}
        while True:
            try:
                return act(once=self._token(), **typed, **sure)
            except Doubtful as asked:  # what is confirmed may let it ask about something else
                sure = {"sure": [*sure.get("sure", []), *(doubt.key for doubt in asked.doubts)]}

    def _token(self) -> UUID:
        return UUID(int=self.rng.getrandbits(128), version=4)
