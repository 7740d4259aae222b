"""How is the same asked of many things at once, on as many processors as there are?

The work is handed to copies of this process, which hold all that it holds already; only answers travel back. Of an
answer, too, what both sides hold is named and not sent, so that it is the very same object afterwards. Where a process
cannot be copied, or there is too little to do, all is done here, one thing after the other.
"""

from __future__ import annotations

import gc
import io
import os
import pickle
import sys
import warnings
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

_T = TypeVar("_T")

FEWEST = 3
"""For less than this, copies of the process are not worth it."""

MOST = 4
"""More copies than this need more memory than they bring speed."""

_job: list[tuple[Callable[[int], object], dict[int, object]]] = []
"""What the copies are to do; they find it here as it was when they were made."""


def at_once(
    ask: Callable[[int], _T],
    count: int,
    *,
    shared: Iterable[object] = (),
    in_turn: Callable[[Sequence[int]], Iterable[int]] = iter,
) -> list[_T]:
    """Return ``ask(0)`` to ``ask(count - 1)``, asked side by side where that is possible.

    Parameters
    ----------
    ask : function
        Changes nothing and needs nothing but what this process holds now.
    shared : iterable of object
        What answers may refer to and this process holds: it is named, not sent, whatever it is.
    in_turn : function
        Goes through the numbers as their answers are waited for, for whoever shows how far it is.

    Raises
    ------
    Exception
        What ``ask`` raises for the first number for which it does.
    """
    copies = min(processors(), count, MOST)
    if copies < 2 or count < FEWEST or not can_copy() or _job:
        return [ask(k) for k in in_turn(range(count))]
    known = {id(thing): thing for thing in shared}
    _job.append((ask, known))
    try:
        answers = _asked(count, copies, known, in_turn)
    finally:
        _job.clear()
    # what failed in a copy is asked here, so that it is told as it would be without copies
    return [ask(k) if answer is None else answer[0] for k, answer in enumerate(answers)]


def processors() -> int:
    """Return how many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def can_copy() -> bool:
    """Return whether a process can be copied safely here: elsewhere than on Linux, its libraries may break."""
    return sys.platform == "linux"


def _asked(
    count: int, copies: int, known: dict[int, object], in_turn: Callable[[Sequence[int]], Iterable[int]]
) -> list[tuple[Any] | None]:
    """Return each answer in a tuple of its own, or None where a copy failed."""
    from multiprocessing import get_context

    made: list[tuple[Any] | None] = [None] * count
    # what a copy holds from the start it need not go through again for garbage
    with warnings.catch_warnings():
        # number libraries keep threads that sleep between calls; no copy wakes those of its parent
        warnings.filterwarnings("ignore", message=".*fork", category=DeprecationWarning)
        try:
            with ProcessPoolExecutor(copies, mp_context=get_context("fork"), initializer=gc.freeze) as pool:
                waited = [pool.submit(_answer, k) for k in range(count)]
                for k in in_turn(range(count)):
                    data = waited[k].result()
                    made[k] = None if data is None else (_Reader(io.BytesIO(data), known).load(),)
        except (OSError, RuntimeError):
            # a copy could not be made, or was ended by the system; what is missing is asked here
            return made
    return made


def _answer(number: int) -> bytes | None:
    """Return one answer as bytes, in a copy; None where it failed."""
    ask, known = _job[0]
    out = io.BytesIO()
    try:
        _Writer(out, known).dump(ask(number))
    except Exception:
        return None
    return out.getvalue()


class _Writer(pickle.Pickler):
    """Writes an answer; what both sides hold goes by its number, arrays stay read-only."""

    def __init__(self, out: io.BytesIO, known: dict[int, object]) -> None:
        super().__init__(out, protocol=5)
        self._known = known

    def persistent_id(self, obj: object) -> int | None:
        return id(obj) if id(obj) in self._known else None

    def reducer_override(self, obj: object) -> Any:
        if type(obj) is np.ndarray and not obj.flags.writeable and obj.dtype != object:
            return _read_only, (obj.dtype.str, obj.shape, obj.tobytes())
        return NotImplemented


class _Reader(pickle.Unpickler):
    def __init__(self, data: io.BytesIO, known: dict[int, object]) -> None:
        super().__init__(data)
        self._known = known

    def persistent_load(self, pid: int) -> object:
        return self._known[pid]


def _read_only(kind: str, shape: Sequence[int], data: bytes) -> npt.NDArray[Any]:
    return np.frombuffer(data, dtype=np.dtype(kind)).reshape(shape)
