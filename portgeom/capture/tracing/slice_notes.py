"""What should be said of a traced slice?"""

from __future__ import annotations

import numpy as np

from portgeom.capture.images.scale import Scale
from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.bumps import Bump
from portgeom.capture.tracing.edge import Edge
from portgeom.capture.tracing.place import SPOT_MM2
from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments

SOFT_MM = 0.6


BLURRED_MM = 1.5


SOFT_SHARE = 0.03


def hair_notes(hairs_mm: tuple[F64, ...]) -> tuple[str, ...]:
    """Return what to say of hairs that were cut off where drawn."""
    count = len(hairs_mm)
    if not count:
        return ()
    what = "a hair or scratch" if count == 1 else f"{count} hairs or scratches"
    return (f"{what} across its edge cut off where drawn",)


def bump_notes(found: tuple[Bump, ...], scale: Scale) -> tuple[str, ...]:
    """Return what to say of bumps and nicks that were left."""
    if not found:
        return ()
    what = "bump" if found[0].height_mm > 0.0 else "nick"
    place = scale.to_px(found[0].place_mm.reshape(1, 2))[0]
    first = f"a {what} of {abs(found[0].height_mm):.2f} mm in its edge at pixel {place[0]:.0f},{place[1]:.0f}"
    more = f", and {len(found) - 1} more" if len(found) > 1 else ""
    return (f"{first}{more}: dust, or the slice itself; it was left as it is",)


def soft_notes(width_mm: F64, edge: Edge) -> tuple[str, ...]:
    """Return what to say of an edge whose width (n,) is known all round.

    Raises
    ------
    Unsure
        Where it is blurred.
    """
    middle = float(np.median(width_mm))
    if middle > BLURRED_MM:
        raise Unsure(
            f"is blurred: its edge is {middle:.1f} mm wide",
            "press the slice flat on the glass, or take the picture in focus",
            about="outline",
        )
    if middle > SOFT_MM:
        return (f"its edge is soft, {middle:.1f} mm wide",)
    soft = width_mm > max(SOFT_MM, 3.0 * middle)
    if soft.mean() > SOFT_SHARE:
        place = edge.points_px[soft].mean(axis=0)
        return (
            f"{100.0 * soft.mean():.0f} percent of its edge is soft, about pixel {place[0]:.0f},{place[1]:.0f}: "
            "a shadow, or the slice did not lie flat",
        )
    return ()


def spot_notes(edge: Edge, scale: Scale, *, mark: bool) -> tuple[str, ...]:
    """Return what to say of spots inside a slice; with ``mark`` one of the size of a mark is the origin's."""
    per_px2 = scale.mm_per_px(edge.points_px.mean(axis=0)) ** 2
    areas = [abs(float(polygon_moments(s).area_mm2)) * per_px2 for s in edge.spots_px]
    count = len(areas)
    if mark:
        count = sum(not SPOT_MM2[0] <= a <= SPOT_MM2[1] for a in areas)
    if not count:
        return ()
    return (f"{count} spot{'s' if count > 1 else ''} inside it counted as slice",)
