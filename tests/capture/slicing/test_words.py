"""Millimetres found out, inches said."""

from __future__ import annotations

import pytest

from portgeom.capture.slicing.words import in_units, reworded
from portgeom.geometry.told_lengths import mm
from portgeom.job.values import Note


@pytest.mark.parametrize(
    ("mm", "inches"),
    [
        ("plane at 25.40 mm", "plane at 1.000 in"),
        ("open over 12.70 mm, 15 percent of its length", "open over 0.500 in, 15 percent of its length"),
        ("645.2 mm2 was looked for", "1.000 in2 was looked for"),
        ("from 1290.3 mm2 to 645.2 mm2", "from 2.000 in2 to 1.000 in2"),
        ("say --mesh-units mm", "say --mesh-units mm"),
        ("half past 10", "half past 10"),
    ],
)
def test_lengths_and_areas_are_reworded_and_nothing_else(mm: str, inches: str) -> None:
    assert reworded(mm) == inches


def test_a_job_in_mm_is_left_as_it_is() -> None:
    notes = (Note("a 3 mm b.stl", None, "plane at 3.00 mm", "open over 2.00 mm", ""),)
    assert in_units(notes, "mm") == notes
    assert in_units(notes, "in")[0].file == "a 3 mm b.stl"


def test_lengths_that_geometry_wrote_are_reworded_too() -> None:
    assert reworded(f"at least {mm(25.4)} nearer") == "at least 1.00 in nearer"
