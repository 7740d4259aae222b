"""How is the same asked of many things at once, on as many processors as there are?

The work is handed to copies of this process, which hold all that it holds already; only answers travel back. Of an
answer, too, what both sides hold is named and not sent, so that it is the very same object afterwards. Where a process
cannot be copied, or there is too little to do, all is done here, one thing after the other.
"""

from __future__ import annotations

import ctypes
import gc
import io
import os
import pickle
import sys
import warnings
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

_T = TypeVar("_T")
_U = TypeVar("_U")

FEWEST = 3
"""For less than this, copies of the process are not worth it."""

MOST = 4
"""More copies than this need more memory than they bring speed."""

THINNED_FROM, THINNED_TO = 4096, 0.3
"""An array of so many values, of which at most this share differ from the first, is sent as those alone."""

KEPT_BYTES = 256 * 1024 * 1024
"""So much memory that is free a copy keeps at most, and gets in one piece without asking for pages of its own."""

TRIM_FROM, MAP_FROM = -1, -3
"""Numbers of mallopt's options, from glibc's malloc.h: M_TRIM_THRESHOLD and M_MMAP_THRESHOLD."""

_job: list[_Work] = []
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
    return [answer[0] for answer in _asked((ask,), count, shared, in_turn)]


def at_once_and_then(
    ask: Callable[[int], _T],
    then: Callable[[int, _T], _U],
    count: int,
    *,
    shared: Iterable[object] = (),
    in_turn: Callable[[Sequence[int]], Iterable[int]] = iter,
) -> list[tuple[_T, _U]]:
    """Return each answer with what ``then`` makes of it, both asked side by side as in :func:`at_once`.

    Whichever copy is free asks on, so that long work ends evenly.
    """
    return [(answer[0], answer[1]) for answer in _asked((ask, then), count, shared, in_turn)]


def processors() -> int:
    """Return how many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def can_copy() -> bool:
    """Return whether a process can be copied safely here: elsewhere than on Linux, its libraries may break."""
    return sys.platform == "linux"


@dataclass(frozen=True, slots=True)
class _Work:
    """What is asked of each number, one step after the other, and what both sides hold by its identity."""

    steps: tuple[Callable[..., Any], ...]
    known: dict[int, object]

    def ask(self, number: int, step: int, before: Sequence[Any]) -> Any:
        """Return the answer of one step, given the answer of the step before, if there is one."""
        return self.steps[step](number, *before)


def _asked(
    steps: tuple[Callable[..., Any], ...],
    count: int,
    shared: Iterable[object],
    in_turn: Callable[[Sequence[int]], Iterable[int]],
) -> list[list[Any]]:
    """Return the answers of every step for each number."""
    work = _Work(steps, {id(thing): thing for thing in shared})
    copies = min(processors(), count, MOST)
    if copies < 2 or count < FEWEST or not can_copy() or _job:
        return [_here(work, k, []) for k in in_turn(range(count))]
    made: list[list[Any]] = [[] for _ in range(count)]
    _job.append(work)
    try:
        _copied(work, made, copies, in_turn)
    finally:
        _job.clear()
    # what failed in a copy is asked here, so that it is told as it would be without copies
    return [_here(work, k, answers) for k, answers in enumerate(made)]


def _here(work: _Work, number: int, answers: list[Any]) -> list[Any]:
    """Return the answers of every step, those that are lacking asked in this process."""
    while len(answers) < len(work.steps):
        answers.append(work.ask(number, len(answers), answers[-1:]))
    return answers


def _copied(work: _Work, made: list[list[Any]], copies: int, in_turn: Callable[[Sequence[int]], Iterable[int]]) -> None:
    """Put into ``made`` what copies of the process answer, as far as they do."""
    from multiprocessing import get_context

    with warnings.catch_warnings():
        # number libraries keep threads that sleep between calls; no copy wakes those of its parent
        warnings.filterwarnings("ignore", message=".*fork", category=DeprecationWarning)
        try:
            with ProcessPoolExecutor(copies, mp_context=get_context("fork"), initializer=_settle) as pool:
                waited = {pool.submit(_answer, k, 0, b""): k for k in range(len(made))}
                for k in in_turn(range(len(made))):
                    while k in waited.values():
                        _take_in(pool, waited, work, made)
        except (OSError, RuntimeError):
            # a copy could not be made, or was ended by the system; what is missing is asked by the caller
            return


def _settle() -> None:
    """Make a copy ready for long work."""
    # what it holds from the start it need not go through again for garbage
    gc.freeze()
    # memory given back to the system is asked for again a moment later, page by page; glibc alone is told to keep it
    keep = getattr(ctypes.CDLL(None), "mallopt", None)
    if keep is not None:
        for option in (TRIM_FROM, MAP_FROM):
            keep(option, KEPT_BYTES)


def _take_in(
    pool: ProcessPoolExecutor, waited: dict[Future[bytes | None], int], work: _Work, made: list[list[Any]]
) -> None:
    """Wait for the next answers, and have the step that follows each asked."""
    done, _ = wait(waited, return_when=FIRST_COMPLETED)
    for future in done:
        number, data = waited.pop(future), future.result()
        if data is None:
            continue
        step = len(made[number]) + 1
        if step < len(work.steps):
            waited[pool.submit(_answer, number, step, data)] = number
        made[number].append(_Reader(io.BytesIO(data), work.known).load())


def _answer(number: int, step: int, before: bytes) -> bytes | None:
    """Return the answer of one step as bytes, in a copy; None where it failed. ``before`` is the answer it follows."""
    (work,), out = _job, io.BytesIO()
    try:
        given = [_Reader(io.BytesIO(before), work.known).load()] if before else []
        _Writer(out, work.known).dump(work.ask(number, step, given))
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
            return _thinned(obj) or (_read_only, (obj.dtype.str, obj.shape, obj.tobytes()))
        return NotImplemented


class _Reader(pickle.Unpickler):
    def __init__(self, data: io.BytesIO, known: dict[int, object]) -> None:
        super().__init__(data)
        self._known = known

    def persistent_load(self, pid: int) -> object:
        return self._known[pid]


def _thinned(values: npt.NDArray[Any]) -> tuple[Any, ...] | None:
    """Return how an array is made again that is mostly its first value, bit by bit; None where it is not."""
    if values.dtype.itemsize != 8 or values.size < THINNED_FROM:
        return None
    bits = values.reshape(-1).view(np.uint64)
    others = np.flatnonzero(bits != bits[0]).astype(np.uint32)
    if len(others) > THINNED_TO * values.size:
        return None
    return _filled, (values.dtype.str, values.shape, int(bits[0]), others.tobytes(), bits[others].tobytes())


def _filled(kind: str, shape: Sequence[int], most: int, others: bytes, these: bytes) -> npt.NDArray[Any]:
    bits = np.full(int(np.prod(shape)), most, dtype=np.uint64)
    bits[np.frombuffer(others, dtype=np.uint32)] = np.frombuffer(these, dtype=np.uint64)
    values = bits.view(np.dtype(kind)).reshape(shape)
    values.flags.writeable = False
    return values


def _read_only(kind: str, shape: Sequence[int], data: bytes) -> npt.NDArray[Any]:
    return np.frombuffer(data, dtype=np.dtype(kind)).reshape(shape)
