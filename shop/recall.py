"""Reads that several parts of one page need, made once.

Today's page asks every app for its worries and then draws what they looked at: without this each would read the same
rows again. Nothing is kept beyond the block, and outside of one a recalled function is simply called.
"""

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import wraps
from typing import Any, ParamSpec, TypeVar

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


def recalled(read: Callable[P, R]) -> Callable[P, R]:
    """Make a read once per `looking` block for the same (hashable) arguments. Its result must not be changed."""

    @wraps(read)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        kept = _kept.get()
        if kept is None:
            return read(*args, **kwargs)
        key = (read, args, tuple(sorted(kwargs.items())))
        if key not in kept:
            kept[key] = read(*args, **kwargs)
        found: R = kept[key]
        return found

    return run
