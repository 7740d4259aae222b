"""What strip slides along the middle of the roof and touches it everywhere once the roof is as wanted?

The strip stands upright on the path and is laid flat by unrolling it: its length is that of the way along the
plan, its height is height over the deck. Where the port does not turn sideways it is the true side view.
"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.templates.pieces import APART_MM, NoSuchPiece, Piece, Tick

DEEP_MM = 14.0
"""How deep the strip is, where the port has room for it."""

DEEP_SHARE = 0.35
"""The strip takes at most this share of the least height."""

HANDLE_MM = 30.0
"""How far the strip stands out of the face, to hold it by."""

TICK_MM = 3.0


def roof_piece(port: LoftedPort, stage: LoftedStage, wanted: Wanted, *, step_mm: float) -> Piece:
    """Return the strip for the wanted roof from the face to where the roof ends.

    Parameters
    ----------
    step_mm : float
        Ticks stand this far apart along the roof, from the face.

    Raises
    ------
    NoSuchPiece
        Where the roof bends in so sharply that the strip would overlap itself.
    """
    last = wanted.roof_end.slab + 1
    across = port.chart.centre_mm[:last, 0]
    top = _unrolled(port, across, [wanted.edges[j].height_mm(across[j : j + 1])[0] for j in range(last)])
    own = stage.edges()
    now = _unrolled(port, across, [own[j].height_mm(across[j : j + 1])[0] for j in range(last)])
    start = top[0].copy()
    top, now = top - start, now - start
    tall = np.ptp(stage.surface.points_mm[:last, :, 1], axis=1)
    deep = min(DEEP_MM, DEEP_SHARE * float(tall.min()))
    out = top[0] - HANDLE_MM * (top[1] - top[0]) / np.linalg.norm(top[1] - top[0])
    upper = np.concatenate([out[None], top])
    cut = _strip(upper, deep)
    return Piece(
        kind="side",
        station="",
        place="",
        distance_mm=wanted.roof_end.distance_mm,
        cut_mm=frozen(cut),
        also_mm=_kept_off(now, top),
        path_mm=frozen([np.nan, np.nan]),
        ticks=(*_stations(port, stage, top, last), *_steps(top, step_mm)),
    )


def _unrolled(port: LoftedPort, across_mm: F64, height_mm: list[float]) -> F64:
    """Return places over the path (k, 2) as length along the plan and height in the head."""
    count = len(height_mm)
    planes = port.chart.planes
    origin, right, up = planes.origin_mm[:count], planes.right[:count], planes.up[:count]
    place = origin + across_mm[:, None] * right + np.array(height_mm)[:, None] * up
    heading = np.column_stack([-right[:, 1], right[:, 0]])
    step = np.diff(place[:, :2], axis=0)
    ahead = np.sign(np.einsum("ij,ij->i", step, heading[:-1] + heading[1:]))
    along = np.concatenate([[0.0], np.cumsum(ahead * np.linalg.norm(step, axis=1))])
    return np.column_stack([along, place[:, 2]])


def _strip(upper: F64, deep: float) -> F64:
    import shapely

    under = upper + deep * np.array([_inward(upper, k) for k in range(len(upper))])
    ring = shapely.Polygon(np.concatenate([upper, under[::-1]]))
    if not ring.is_valid:
        raise NoSuchPiece("the wanted roof bends too sharply for a strip that slides along it")
    return np.asarray(shapely.geometry.polygon.orient(ring).exterior.coords)[:-1]


def _kept_off(line: F64, edge: F64) -> tuple[F64, ...]:
    """Return a line where it keeps off an edge."""
    import shapely

    rest = shapely.difference(shapely.LineString(line), shapely.buffer(shapely.LineString(edge), APART_MM))
    parts = [p for p in shapely.get_parts(rest) if p.geom_type == "LineString" and p.length > APART_MM]
    return tuple(frozen(shapely.get_coordinates(p)) for p in parts)


def _inward(top: F64, index: int) -> F64:
    """Return the way (2,) from the roof into the strip at one of its points."""
    before, after = top[max(0, index - 1)], top[min(len(top) - 1, index + 1)]
    run = (after - before) / np.linalg.norm(after - before)
    return np.array([run[1], -run[0]])


def _stations(port: LoftedPort, stage: LoftedStage, top: F64, last: int) -> tuple[Tick, ...]:
    ticks = []
    for row, slab in zip(stage.stage.sections.rows, stage.slab, strict=True):
        if slab < last:
            foot, into = top[slab], _inward(top, int(slab))
            ticks.append(Tick(frozen([foot + 0.5 * into, foot + 2.0 * TICK_MM * into]), row.station))
    return tuple(ticks)


def _steps(top: F64, step_mm: float) -> tuple[Tick, ...]:
    """Return ticks without words at whole steps along the roof."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(top, axis=0), axis=1))])
    ticks = []
    for s in np.arange(0.0, along[-1] + 1e-9, step_mm):
        index = int(np.argmin(np.abs(along - s)))
        foot = np.array([np.interp(s, along, top[:, 0]), np.interp(s, along, top[:, 1])])
        into = _inward(top, index)
        ticks.append(Tick(frozen([foot + 0.5 * into, foot + TICK_MM * into]), ""))
    return tuple(ticks)
