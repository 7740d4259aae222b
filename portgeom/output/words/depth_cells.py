"""What is written of one groove at one mark of a depth card, wherever the card stands?"""

from __future__ import annotations

from math import isfinite

from portgeom.job.values import Units
from portgeom.output.words.shown import set_depth
from portgeom.questions.cutting.depth_card import CardRow


def depth_cells(row: CardRow | None, units: Units) -> tuple[str, str]:
    """Return the set depth and the STOP of one groove at one mark, both rounded down; a dash where there is none.

    No depth is set deeper than STOP, where a wall behind is at its limit.
    """
    if row is None:
        return "-", "-"
    stop = set_depth(row.stop_mm, units) if isfinite(row.stop_mm) else "-"
    return set_depth(min(row.depth_mm, row.stop_mm), units), stop


def held(row: CardRow) -> bool:
    """Return whether a groove is set less deep than planned, for the sake of the wall behind."""
    return row.depth_mm > row.stop_mm
