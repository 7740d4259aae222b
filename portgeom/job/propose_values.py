"""What does a person ask of a proposal, and how far may it go?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

Follow: TypeAlias = Literal["schedule", "straight", "least area"]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a proposal must keep to; ``[propose]`` in job.toml. The defaults are common practice, no source.

    Attributes
    ----------
    follow : Follow or None
        What the area is to follow from the face to the throat: the port's schedule, a straight line between
        the stated entry and throat areas (a missing one as measured), or nothing but ``least_area_mm2``.
        None: the schedule where there is one, straight where an entry or throat area is stated, else the least
        area, else straight.
    taper_percent, above_percent : float
        How far the area may stand below and above what it follows, as far above as below where the second is not
        given; metal that is gone already counts for nothing.
    most_roof_mm, most_side_mm, most_floor_mm : float
        Most that may come off each. The floor is only cleaned unless this says otherwise.
    from_mm, to_mm : float or None
        Nothing comes off before and beyond; None is the face and the throat.
    knot_mm : float
        About how far the points of the lines lie apart.
    roof_bow_mm : float
        How far the roof may stand from straight, and in a bend from the bend's own curve, under a straightedge
        of ``limits.straightedge``.
    slope : float
        Most that a line may rise or fall, mm for each mm of path.
    match_percent, match_cc : float
        How near the areas and the volumes of a pair must be.
    roof_over_sides_percent, outside_of_bend_percent : float
        By how much dearer a cc off the sides counts than one off the roof, and one off the inside of the bend
        than one off the outside. Twice the first for the floor.
    sure : float
        Standard deviations of a wall that are kept on top of its limit.
    minutes : bool
        Ask for the least minutes instead of the least metal; every side's cutter needs a rate.
    """

    follow: Follow | None = None
    entry_area_mm2: float | None = None
    throat_area_mm2: float | None = None
    least_area_mm2: float | None = None
    taper_percent: float = 1.0
    above_percent: float | None = None
    most_roof_mm: float = 3.0
    most_side_mm: float = 3.0
    most_floor_mm: float = 0.0
    from_mm: float | None = None
    to_mm: float | None = None
    knot_mm: float = 10.0
    roof_bow_mm: float = 3.0
    slope: float = 0.15
    match_percent: float = 1.0
    match_cc: float = 1.0
    roof_over_sides_percent: float = 5.0
    outside_of_bend_percent: float = 5.0
    sure: float = 1.645
    minutes: bool = False
