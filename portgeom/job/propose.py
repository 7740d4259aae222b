"""What does a job ask of a proposal?"""

from __future__ import annotations

from dataclasses import fields
from typing import cast

from portgeom.job.keys import Entry
from portgeom.job.propose_values import Follow, Wishes

KEYS = {
    "entry_area": "entry_area_mm2",
    "throat_area": "throat_area_mm2",
    "least_area": "least_area_mm2",
    "taper_percent": "taper_percent",
    "above_percent": "above_percent",
    "most_roof": "most_roof_mm",
    "most_side": "most_side_mm",
    "most_floor": "most_floor_mm",
    "from": "from_mm",
    "to": "to_mm",
    "roof_bow": "roof_bow_mm",
    "slope": "slope",
    "match_percent": "match_percent",
    "match_cc": "match_cc",
    "roof_over_sides_percent": "roof_over_sides_percent",
    "outside_of_bend_percent": "outside_of_bend_percent",
    "sure": "sure",
}
"""Keys of [propose] that are numbers, and what they are called inside."""


def read_propose(entry: Entry | None) -> Wishes:
    """Return what is asked of a proposal; the usual where the job does not say."""
    if entry is None:
        return Wishes()
    start, end = entry.number("from"), entry.number("to")
    if start is not None and end is not None and start >= end:
        entry.spot("to").fault("does not lie beyond from", "give the distances between which metal may come off")
    follow = entry.text("follow")
    if follow == "least area" and "least_area" not in entry.given:
        entry.spot("follow").fault("asks for a least area and gives none", "give least_area")
    given = {inside: entry.number(key) for key, inside in KEYS.items() if key in entry.given}
    usual = {f.name: f.default for f in fields(Wishes)}
    numbers = {name: cast("float", usual[name] if value is None else value) for name, value in given.items()}
    minutes = entry.text("aim") == "minutes"
    return Wishes(follow=cast("Follow", follow) if follow else None, minutes=minutes, **numbers)
