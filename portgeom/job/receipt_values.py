"""What does a job say of the head as it came in, and of what was opened and sealed since?"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Receipt:
    """The head as it was received, in the user's own words; "" and None for what was not looked at."""

    head: str = ""
    owner: str = ""
    date: str = ""
    pressure_test: str = ""
    crack_test: str = ""
    deck_flatness_mm: float | None = None
    face_flatness_mm: float | None = None
    most_flatness_mm: float | None = None
    earlier_work: tuple[str, ...] = ()
    wanted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Opened:
    """A wall that was opened: of which port, into what, how it was sealed, and how that was tested."""

    port: str
    where: str
    sealed: str = ""
    tested: str = ""
