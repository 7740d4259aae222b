"""What may a job say of one measuring of a port, beside its sections? What was cut before it, and how it was poured."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pour:
    """How a poured volume was taken.

    Attributes
    ----------
    valve_in : bool
        Whether the valve stood closed in its seat while liquid was poured; else the port was plugged flush with
        its last station.
    plate_recess_cc : float
        What the plate on the manifold face held besides the port.
    to_seat_mm : float or None
        How far the seat's inner edge lies beyond the last station.
    boss_in_sections : bool
        Whether the measured sections already run round the guide boss.
    """

    valve_in: bool
    plate_recess_cc: float
    to_seat_mm: float | None = None
    boss_in_sections: bool = False
