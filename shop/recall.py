"""Reads that several parts of one page need, made once.

Today's page asks every app for its worries and then draws what they looked at: without this each would read the same
rows again. Nothing is kept beyond the block, and outside of one a recalled function is simply called.
"""

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import update_wrapper
from typing import Any, Generic, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")

_kept: ContextVar[dict[Hashable, Any] | None] = ContextVar("kept", default=None)


@contextmanager
def looking() -> Iterator[None]:
    """Within the block each recalled read is made once. For a page or a sum that only reads: what is written inside
    the block is not seen by reads that were made before it."""
    if _kept.get() is not None:  # the outer block's reads hold for the inner one
        yield
        return
    token = _kept.set({})
    try:
        yield
    finally:
        _kept.reset(token)


class Recalled(Generic[P, R]):
    """A read that is made once per `looking` block for the same arguments."""

    def __init__(self, read: Callable[P, R]) -> None:
        self.read = read
        update_wrapper(self, read)

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        kept = _kept.get()
        if kept is None:
            return self.read(*args, **kwargs)
        key = (self.read, args, tuple(sorted(kwargs.items())))
        if key not in kept:
            kept[key] = self.read(*args, **kwargs)
        found: R = kept[key]
        return found

    def tell(self, found: R, *args: P.args, **kwargs: P.kwargs) -> None:
        """Within a block: what the read would find with these arguments, where it came along with another."""
        kept = _kept.get()
        if kept is not None:
            kept[(self.read, args, tuple(sorted(kwargs.items())))] = found


def recalled(read: Callable[P, R]) -> Recalled[P, R]:
    """Make a read once per `looking` block for the same (hashable) arguments. Its result must not be changed."""
    return Recalled(read)
