"""How far a run has come, told to whoever asked for it: to nobody in a notebook or a pipe, where it costs nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

Thing = TypeVar("Thing")
Listener = Callable[[str, int, int], None]
"""Is told what is being done, which one of the things it is done to, from one on, and of how many; 0 of 0 where they
are not counted."""

_listener: ContextVar[Listener | None] = ContextVar("listener", default=None)


@contextmanager
def told_to(listener: Listener) -> Iterator[None]:
    """Have it told to a listener, of everything that is done here."""
    before = _listener.set(listener)
    try:
        yield
    finally:
        _listener.reset(before)


def at(what: str, number: int = 0, of: int = 0) -> None:
    """Tell that something begins, such as "Matching lines with parcels", or the number-th of several."""
    if listener := _listener.get():
        listener(what, number, of)


def each(things: Sequence[Thing], what: Callable[[Thing], str] | str) -> Iterator[Thing]:
    """The things, each told of when its turn comes; `what` is done to it."""
    for number, thing in enumerate(things, 1):
        at(what if isinstance(what, str) else what(thing), number, len(things))
        yield thing
