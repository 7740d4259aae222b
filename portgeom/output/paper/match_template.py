"""What is cut out at 1:1 to mark a match: the common line of port and manifold with the holes, seen from both sides?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.output.paper.lettering import printable, wrapped
from portgeom.output.paper.template_drawing import CAPTION, CROSS_MM, PAD, Drawn, Lettering, Stroke
from portgeom.questions.match.match import Match

RING_STEPS = 120
USUAL_HOLE_MM = 6.0
"""Drawn for a pin whose size was not given."""

FLIP = np.array([-1.0, 1.0])


def match_pieces(found: Match, caption: str) -> tuple[Drawn, ...]:
    """Return the template of a match twice: to lay on the head, and turned over to lay on the manifold's flange."""
    on_head = _piece(found, FLIP * FLIP, f"{caption}. Lay on the head: seen looking in, roof up.")
    if found.manifold is None:
        return (on_head,)
    return on_head, _piece(
        found, FLIP, f"{caption}. Lay on the manifold's flange: seen from the head, roof up, left and right swapped."
    )


def _piece(found: Match, turn: F64, caption: str) -> Drawn:
    # turning a piece over turns its outline the other way round: the order is turned back
    order = -1 if turn[0] < 0.0 else 1

    def seen(points: F64) -> F64:
        return frozen((points * turn)[::order])

    strokes = [Stroke("cut", seen(found.matched_mm), closed=True)]
    inner = [found.port_mm, *(p.outline_mm for p in (found.manifold, found.gasket) if p is not None)]
    strokes += [Stroke("mark", seen(ring), closed=True, dashed=True) for ring in inner]
    angle = np.linspace(0.0, 2.0 * np.pi, RING_STEPS, endpoint=False)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    for pin, diameter in zip(found.pins_mm, found.pin_diameter_mm, strict=True):
        radius = 0.5 * (diameter if np.isfinite(diameter) else USUAL_HOLE_MM)
        centre = pin * turn
        strokes.append(Stroke("cut", frozen(centre + radius * circle), closed=True))
        for arm in (np.array([CROSS_MM, 0.0]), np.array([0.0, CROSS_MM])):
            strokes.append(Stroke("mark", frozen([centre - arm, centre + arm])))
    middle = found.matched_mm.mean(axis=0) * turn
    letters = [Lettering((float(middle[0]), float(found.matched_mm[:, 1].max()) - 6.0), "roof", 3.0)]
    every = np.concatenate([s.points_mm for s in strokes])
    low, high = every.min(axis=0) - PAD, every.max(axis=0) + PAD
    foot = float(low[1])
    for line in wrapped(printable(caption), CAPTION, float(high[0] - low[0]) - 2.0, most_lines=6):
        foot -= 1.35 * CAPTION
        letters.append(Lettering((float(low[0]) + 1.0, foot), line, CAPTION, middle=False))
    return Drawn(tuple(strokes), tuple(letters), np.array([float(low[0]), foot - 1.5]), high)
