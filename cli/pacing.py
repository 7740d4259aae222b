"""How does a person see that something is being worked at, once it takes over a second?

On a terminal a bar, in a log a line; nothing for what is done at once, and nothing where quiet was asked for.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from threading import Lock, Timer
from typing import TypeVar

import click

from .saying import quiet

T = TypeVar("T")

PATIENCE_S = 1.0
"""Shorter work goes without a word."""

BAR = 30


def in_turn(items: Sequence[T], label: str, name: Callable[[T], str] = lambda _: "") -> Iterator[T]:
    """Yield items one by one, telling on standard error how far the work on them is, once it takes over a second.

    Parameters
    ----------
    label : str
        What is done, such as "report".
    name : callable
        What one item is called.
    """
    if quiet() or not items:
        yield from items
        return
    pace = _Pace(label, len(items))
    try:
        for done, item in enumerate(items):
            pace.at(done, name(item))
            yield item
    finally:
        pace.end()


class _Pace:
    """Tells where the work is when it has taken long enough, and again after every further second."""

    def __init__(self, label: str, count: int) -> None:
        self._label, self._count = label, count
        self._done, self._name = 0, ""
        self._bar = bool(getattr(sys.stderr, "isatty", lambda: False)())
        self._told, self._lock = -1, Lock()
        self._open = True
        self._timer = self._wound()

    def at(self, done: int, name: str) -> None:
        """Note that so many are done and which one is worked at."""
        with self._lock:
            self._done, self._name = done, name
            if self._bar and self._told >= 0:
                self._tell()

    def end(self) -> None:
        """Stop telling; the bar goes."""
        with self._lock:
            self._open = False
            self._timer.cancel()
            if self._bar and self._told >= 0:
                click.echo("\r" + " " * 79 + "\r", err=True, nl=False)

    def _wound(self) -> Timer:
        timer = Timer(PATIENCE_S, self._late)
        timer.daemon = True
        timer.start()
        return timer

    def _late(self) -> None:
        with self._lock:
            if not self._open:
                return
            if self._bar or self._told != self._done:
                self._tell()
            self._timer = self._wound()

    def _tell(self) -> None:
        self._told = self._done
        click.echo(
            pace_line(self._label, self._done, self._count, self._name, bar=self._bar), err=True, nl=not self._bar
        )


def pace_line(label: str, done: int, count: int, name: str, *, bar: bool) -> str:
    """Return how far the work is: a bar over the line before it, or a line of its own.

    Examples
    --------
    >>> pace_line("report", 1, 2, "port 2", bar=False)
    'report: 2 of 2, port 2'
    """
    if not bar:
        return f"{label}: {done + 1} of {count}{f', {name}' if name else ''}"
    full = round(BAR * done / count)
    drawn = "#" * full + "-" * (BAR - full)
    told = f"{label} [{drawn}] {done + 1} of {count} {name}"
    return f"\r{told[:78]:<78}"


@contextmanager
def working(label: str) -> Iterator[None]:
    """Tell on standard error that something is worked at, once it takes over a second."""
    for _ in in_turn([label], label):
        yield
