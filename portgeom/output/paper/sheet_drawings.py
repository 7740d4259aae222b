"""Where is each reading of a measuring sheet taken? Drawings with the letters of the readings.

They show how, not how much: no drawing is to scale, except that turn sections fan at their own angles.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from portgeom.capture.sheets.readings import BOWL
from portgeom.output.paper.paper import THICK, THIN, Pen, Place

DASH = (1.6, 1.0)
CHAIN = (4.0, 1.0, 0.8, 1.0)


def head_from_the_side(pen: Pen) -> None:
    """Draw the head cut along the port, deck down, in a field of 112 by 82 mm."""
    _cut_head(pen)
    pen.line((79.2, 0.0), (70.4, 66.0), width=THIN, dash=CHAIN)
    pen.words((70.0, 67.5), "arbor in the valve guide", size=2.4)
    pen.words((102.0, 12.6), "deck", size=2.4)
    pen.words((16.0, 70.0), "manifold face", size=2.4)
    pen.arc((14.0, 16.0), 9.0, 0.0, 90.0, width=THIN)
    pen.letter((20.4, 22.4), "A")
    pen.line((14.0, 16.0), (110.0, 16.0), width=THIN, dash=DASH)
    pen.arc((77.1, 16.0), 11.0, -82.4, 82.4, width=THIN)
    pen.letter((86.5, 9.6), "B")
    pen.dimension((14.0, 5.0), (78.6, 5.0), "D")
    pen.line((14.0, 16.0), (14.0, 3.5), width=THIN)
    pen.line((91.0, 21.0), (101.0, 21.0), width=THIN)
    pen.dimension((99.0, 16.0), (99.0, 21.0), "E", off=-4.0)
    pen.dimension((9.0, 16.0), (9.0, 38.0), "F")
    pen.dimension((4.0, 16.0), (4.0, 60.0), "G", along=0.75)
    for y in (38.0, 60.0):
        pen.line((2.5, y), (13.5, y), width=THIN)
    pen.dot((50.0, 30.0))
    pen.dimension((50.0, 30.0), (57.6, 36.5), "J")
    pen.line((14.0, 40.5), (66.0, 40.5), width=THIN, dash=DASH)
    pen.line((50.0, 30.0), (50.0, 52.0), width=THIN, dash=DASH)
    pen.dimension((14.0, 49.0), (50.0, 49.0), "K")
    pen.line((14.0, 38.0), (34.0, 38.0), width=THIN, dash=DASH)
    pen.arrow((29.0, 45.0), (29.0, 40.5), width=THIN)
    pen.arrow((29.0, 33.5), (29.0, 38.0), width=THIN)
    pen.letter((32.0, 44.6), "L")


def _cut_head(pen: Pen) -> None:
    """Draw deck, face, port, seat and chamber."""
    pen.line((14.0, 38.0), (14.0, 16.0), (60.0, 16.0), (64.5, 21.0), width=THICK)
    pen.line((88.5, 21.0), (93.0, 16.0), (110.0, 16.0), width=THICK)
    pen.line((14.0, 60.0), (14.0, 72.0), width=THICK)
    pen.curve((14.0, 38.0), (28.0, 38.4), (38.0, 40.0), (50.0, 40.5), width=THICK)
    pen.arc((50.0, 30.0), 10.5, 10.0, 80.0, width=THICK)
    pen.line((60.4, 31.8), (64.5, 21.0), width=THICK)
    pen.curve((14.0, 60.0), (50.0, 62.0), (82.0, 62.0), (88.0, 34.0), width=THICK)
    pen.line((88.0, 34.0), (88.5, 21.0), width=THICK)
    pen.line((62.5, 21.0), (66.5, 21.0), width=1.0)
    pen.line((86.5, 21.0), (90.5, 21.0), width=1.0)


def head_from_the_face(pen: Pen) -> None:
    """Draw the head as seen looking in from the manifold face, deck down, in a field of 68 by 82 mm."""
    pen.line((6.0, 16.0), (62.0, 16.0), (62.0, 72.0), (6.0, 72.0), width=THICK, closed=True)
    rounded(pen, (20.0, 38.0), (42.0, 60.0), 5.0)
    pen.line((32.6, 2.0), (29.4, 66.0), width=THIN, dash=CHAIN)
    pen.arc((31.9, 16.0), 10.0, -87.1, 87.1, width=THIN)
    pen.letter((40.0, 10.0), "C")
    pen.line((31.9, 16.0), (31.9, 72.0), width=THIN, dash=DASH)
    pen.words((33.0, 68.5), "arbor's line", size=2.4)
    pen.dimension((6.0, 22.0), (31.9, 22.0), "H")
    pen.words((56.0, 64.0), "R", size=6.0, bold=True)
    pen.words((18.0, 75.0), "looking in, deck down", size=2.4)
    pen.dimension((48.0, 16.0), (48.0, 38.0), "F")
    pen.dimension((54.0, 16.0), (54.0, 60.0), "G", along=0.75)
    for y, start in ((38.0, 42.0), (60.0, 42.0)):
        pen.line((start, y), (56.0, y), width=THIN)


def face_section(pen: Pen) -> None:
    """Draw a section parallel to the face with its twelve readings, looking in, in a field of 92 by 84 mm."""
    left, right, low, high = 20.0, 74.0, 12.0, 76.0
    rounded(pen, (left, low), (right, high), 15.0)
    for part, letter in ((0.25, "w1"), (0.5, "w2"), (0.75, "w3")):
        y = low + part * (high - low)
        pen.dimension((left, y), (right, y), letter, along=0.38)
    for part, letter in ((0.25, "h1"), (0.5, "h2"), (0.75, "h3")):
        x = left + part * (right - left)
        pen.dimension((x, low), (x, high), letter, along=0.62)
    for x, y, letter in (
        (left + 4.0, high - 4.0, "r1"),
        (right - 4.0, high - 4.0, "r2"),
        (right - 4.0, low + 4.0, "r3"),
        (left + 4.0, low + 4.0, "r4"),
    ):
        pen.letter((x, y), letter)
    pen.line((65.0, 5.0), (65.0, 82.0), width=THIN, dash=CHAIN)
    pen.words((66.0, 80.0), "arbor's line", size=2.4)
    pen.line((left, 44.0), (left, 8.0), width=THIN)
    pen.dimension((left, 8.0), (65.0, 8.0), "s")
    pen.line((8.0, low), (40.0, low), width=THIN)
    pen.line((8.0, 6.0), (19.0, 6.0), width=THIN, dash=DASH)
    pen.dimension((11.0, 6.0), (11.0, low), "f", off=3.0)
    pen.words((0.0, 2.2), "floor at the face", size=2.4)


def fan(pen: Pen, angles_deg: Sequence[float]) -> None:
    """Draw the turn sections at their angles about the centre of the short side, in a field of 90 by 74 mm."""
    centre, radius = (28.0, 16.0), 13.0
    pen.dot(centre)
    pen.line((2.0, 27.6), (14.0, 28.4), width=THICK)
    pen.curve((14.0, 28.4), (20.0, 28.8), (24.0, 29.0), (28.0, 29.0), width=THICK)
    pen.arc(centre, radius, 0.0, 90.0, width=THICK)
    pen.line((41.0, 16.0), (43.0, 4.0), width=THICK)
    pen.curve((2.0, 66.0), (44.0, 70.0), (80.0, 56.0), (80.0, 14.0), width=THICK)
    pen.line((80.0, 14.0), (80.0, 4.0), width=THICK)
    pen.line(centre, (28.0, 73.0), width=THIN, dash=DASH)
    pen.words((29.0, 71.0), "0: parallel to the face", size=2.4)
    for k, angle in enumerate(angles_deg):
        way = (math.sin(math.radians(angle)), math.cos(math.radians(angle)))
        reach = _to_roof(centre, way)
        start = _on(centre, way, radius)
        pen.line(centre, start, width=THIN)
        letter = "h" if k == len(angles_deg) // 2 else ""
        pen.dimension(start, _on(centre, way, reach), letter) if letter else pen.line(
            start, _on(centre, way, reach), width=THIN
        )
        pen.words(_on(centre, way, reach + 4.0), f"{angle:g}°", size=2.4, middle=True)
    pen.words((20.0, 11.0), "centre of the", size=2.4)
    pen.words((20.0, 7.8), "short side radius", size=2.4)
    pen.words((2.0, 62.0), "roof", size=2.4)
    pen.words((2.0, 24.0), "floor", size=2.4)
    pen.words((84.0, 4.0), "to the seat", size=2.4)


def _on(centre: Place, way: Place, reach: float) -> Place:
    return centre[0] + reach * way[0], centre[1] + reach * way[1]


def _to_roof(centre: Place, way: Place) -> float:
    """Return how far the drawn roof is, by stepping out until it is passed."""
    reach = 20.0
    while reach < 70.0:
        x, y = _on(centre, way, reach)
        if x >= 80.0 or (x > 2.0 and y >= _roof_height(x)):
            return reach
        reach += 0.25
    return reach


def _roof_height(x: float) -> float:
    low, high = 0.0, 1.0
    for _ in range(30):
        t = 0.5 * (low + high)
        at = _cubic(t, 2.0, 44.0, 80.0, 80.0)
        low, high = (t, high) if at < x else (low, t)
    return _cubic(low, 66.0, 70.0, 56.0, 14.0)


def _cubic(t: float, a: float, b: float, c: float, d: float) -> float:
    s = 1.0 - t
    return s**3 * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t**3 * d


def turn_section(pen: Pen) -> None:
    """Draw a turn section with its readings, looking in, in a field of 70 by 66 mm."""
    left, right, low, high = 14.0, 58.0, 14.0, 56.0
    rounded(pen, (left, low), (right, high), 14.0)
    pen.dimension((left, 35.0), (right, 35.0), "w", along=0.36)
    pen.dimension((36.0, low), (36.0, high), "h", along=0.7)
    for x, y, letter in ((18.0, 52.0, "r1"), (54.0, 52.0, "r2"), (54.0, 18.0, "r3"), (18.0, 18.0, "r4")):
        pen.letter((x, y), letter)
    pen.line((46.0, 5.0), (46.0, 62.0), width=THIN, dash=CHAIN)
    pen.words((47.0, 60.0), "arbor's line", size=2.4)
    pen.line((left, 35.0), (left, 8.0), width=THIN)
    pen.dimension((left, 9.5), (46.0, 9.5), "s")
    pen.line((3.0, low), (30.0, low), width=THIN)
    pen.line((3.0, 8.0), (12.0, 8.0), width=THIN, dash=DASH)
    pen.dimension((6.0, 8.0), (6.0, low), "f", off=3.0)
    pen.words((0.0, 3.8), "radius gauge", size=2.4)


def bowl_section(pen: Pen) -> None:
    """Draw a bowl section with the pointer's eight radii, seen from the chamber, in a field of 84 by 70 mm."""
    centre, radius = (42.0, 33.0), 24.0
    pen.arc(centre, radius, 0.0, 360.0, width=THICK)
    pen.arc(centre, 2.4, 0.0, 360.0)
    for k, reading in enumerate(BOWL):
        # seen from the chamber right lies on the left
        way = (-math.sin(0.25 * math.pi * k), math.cos(0.25 * math.pi * k))
        pen.arrow(_on(centre, way, 2.4), _on(centre, way, radius), width=THIN)
        pen.letter(_on(centre, way, 15.0), reading.letter)
    pen.words((42.0, 60.5), "away from the face", size=2.4, middle=True)
    pen.words((42.0, 5.0), "towards the face", size=2.4, middle=True)
    pen.words((11.0, 33.0), "R", size=6.0, bold=True, middle=True)
    pen.words((42.0, 67.0), "seen from the chamber, deck up", size=2.4, middle=True)


def rounded(pen: Pen, low: Place, high: Place, radius: float, *, width: float = THICK) -> None:
    """Draw a rectangle with round corners."""
    (x0, y0), (x1, y1), r = low, high, radius
    pen.line((x0 + r, y0), (x1 - r, y0), width=width)
    pen.line((x1, y0 + r), (x1, y1 - r), width=width)
    pen.line((x1 - r, y1), (x0 + r, y1), width=width)
    pen.line((x0, y1 - r), (x0, y0 + r), width=width)
    for x, y, start in (
        (x1 - r, y0 + r, 270.0),
        (x1 - r, y1 - r, 0.0),
        (x0 + r, y1 - r, 90.0),
        (x0 + r, y0 + r, 180.0),
    ):
        pen.arc((x, y), r, start, 90.0, width=width)
