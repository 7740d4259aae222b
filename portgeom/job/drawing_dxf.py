"""Which lines does a DXF drawing hold, on which layer, and in what unit?"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from ezdxf.lldxf.const import DXFError

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.curves import Curve, CurveError, elliptic_arc, straight
from portgeom.job.drawing import (
    MM_PER,
    MOST_PIECES,
    TELL_UNITS,
    WITHIN_MM,
    Drawing,
    DrawingError,
    DrawingUnits,
    Piece,
    tally,
)
from portgeom.job.faults import nearest, shown

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.entities.dxfgfx import DXFGraphic
    from ezdxf.math import Vec3

UNIT_OF_CODE: dict[int, DrawingUnits] = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}
"""The codes of the header's $INSUNITS that a port may be drawn in; 0 is no unit."""

BROKEN = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError, DXFError)
"""In all of these ways the library tells of data that it cannot use."""

SAVE = "save it again as a DXF in text form"


def dxf_drawing(data: bytes, *, layer: str, units: DrawingUnits | None) -> Drawing:
    """Return the lines of a DXF's model space in mm.

    Layers that are off or frozen are left out unless ``layer`` names one. What is no line (text, points,
    dimensions) is left out and told; a block is refused, for it may hold the outline.

    Raises
    ------
    DrawingError
        Where the bytes are no whole DXF, the unit is not known, a block stands in the way, or something
        does not lie flat in the drawing's plane.
    """
    document = _document(data)
    unit, told = _unit(document, units)
    try:
        found = _lines(document, layer, MM_PER[unit])
    except DrawingError:
        raise
    except BROKEN as error:
        raise DrawingError(f"has something that cannot be followed ({type(error).__name__})", SAVE) from error
    if layer and layer.casefold() not in {n.casefold() for n in found.layers}:
        mend = nearest(layer, sorted(found.layers), what="layer")
        raise DrawingError(f"has nothing on a layer {shown(layer)}", mend)
    if found.left_out:
        told = (*told, f"left out what is no line: {tally(found.left_out)}")
    words = f"drawn in {unit}, {'by the file' if units is None else 'as told'}"
    return Drawing(tuple(found.pieces), words, told)


@dataclass(slots=True)
class _Found:
    """What was met in a drawing so far; ``level_mm`` is the height of the plane the first line lies in."""

    pieces: list[Piece] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    layers: set[str] = field(default_factory=set)
    level_mm: float | None = None


def _lines(document: Document, layer: str, mm: float) -> _Found:
    hidden = {entry.dxf.name.casefold() for entry in document.layers if entry.is_off() or entry.is_frozen()}
    found = _Found()
    for entity in document.modelspace():
        if not entity.dxf.is_supported("layer"):
            found.left_out.append(entity.dxftype().lower())
            continue
        name = str(entity.dxf.get("layer", "0"))
        found.layers.add(name)
        if name.casefold() != layer.casefold() if layer else name.casefold() in hidden:
            continue
        curves = list(_curves(entity))
        if not curves:
            found.left_out.append(entity.dxftype().lower())
        found.pieces += [Piece(_flat(curve, mm, found), name) for curve in curves]
        if len(found.pieces) > MOST_PIECES:
            raise DrawingError(f"holds more than {MOST_PIECES} lines", "save the outline alone")
    return found


def _document(data: bytes) -> Document:
    from ezdxf.filemanagement import read

    if b"\x00" in data:
        raise DrawingError("is not a DXF in text form", SAVE)
    if data.rstrip()[-3:].upper() != b"EOF":
        raise DrawingError("ends before its end: the last line is not EOF", "copy or save the whole file again")
    text = data.decode("utf-8-sig", errors="surrogateescape").replace("\r\n", "\n")
    try:
        return read(io.StringIO(text))
    except BROKEN as error:
        raise DrawingError(f"is not a DXF that can be read ({type(error).__name__})", SAVE) from error


def _unit(document: Document, units: DrawingUnits | None) -> tuple[DrawingUnits, tuple[str, ...]]:
    """Return the unit of the drawing, and what is to be told about it."""
    code = int(document.header.get("$INSUNITS", 0))
    said = UNIT_OF_CODE.get(code)
    if units is not None:
        told = () if said in (units, None) else (f"says that its unit is {said}; taken as {units}, as told",)
        return units, told
    if said is None:
        what = "says no unit" if code == 0 else f"has the unit of code {code}, in which no port is drawn"
        raise DrawingError(f"{what} ($INSUNITS)", f"save it with a unit, or {TELL_UNITS}")
    return said, ()


def _curves(entity: DXFGraphic) -> Iterator[Curve]:
    """Return the curves of an entity in space and in its own units; none where it is no line."""
    from ezdxf.entities.arc import Arc
    from ezdxf.entities.circle import Circle
    from ezdxf.entities.ellipse import Ellipse
    from ezdxf.entities.insert import Insert
    from ezdxf.entities.line import Line
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.entities.polyline import Polyline
    from ezdxf.entities.spline import Spline

    if isinstance(entity, Insert):
        raise DrawingError(
            f"has a block {shown(str(entity.dxf.get('name', '')))} on layer {shown(str(entity.dxf.layer))}",
            "break the block up into its lines, or name another layer",
        )
    if isinstance(entity, LWPolyline | Polyline):
        if isinstance(entity, Polyline) and (entity.is_poly_face_mesh or entity.is_polygon_mesh):
            return
        if len(entity) > MOST_PIECES:
            raise DrawingError(f"has a polyline of {len(entity)} corners", f"draw it with at most {MOST_PIECES}")
        for part in entity.virtual_entities():
            yield from _curves(part)
    elif isinstance(entity, Line):
        yield straight(_rows((entity.dxf.start, entity.dxf.end)))
    elif isinstance(entity, Circle):  # an arc is one too
        start, end = (entity.dxf.start_angle, entity.dxf.end_angle) if isinstance(entity, Arc) else (0.0, 360.0)
        yield _arc(entity, math.radians(start), math.radians((end - start) % 360.0 or 360.0))
    elif isinstance(entity, Ellipse):
        tool = entity.construction_tool()
        start, sweep = tool.start_param, (tool.end_param - tool.start_param) % math.tau or math.tau
        centre, first, second = _rows((tool.center, tool.major_axis, tool.minor_axis))
        yield elliptic_arc(centre, first, second, start, sweep)
    elif isinstance(entity, Spline):
        yield _spline(entity)


def _arc(entity: DXFGraphic, start: float, sweep: float) -> Curve:
    ocs, r = entity.ocs(), abs(entity.dxf.radius)
    centre, right, up = _rows(ocs.to_wcs(p) for p in (entity.dxf.center, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)))
    return elliptic_arc(centre, r * right, r * up, start, sweep)


def _spline(entity: DXFGraphic) -> Curve:
    from ezdxf.entities.spline import Spline

    assert isinstance(entity, Spline)
    tool = entity.construction_tool()
    knots = np.array(tool.knots(), dtype=np.float64)
    breaks = np.unique(knots[tool.degree : len(tool.control_points) + 1])  # a closed one's ends overlap beyond
    if len(breaks) < 2 or not np.isfinite(breaks).all():
        raise DrawingError("has a spline of no length", "delete it, or draw it again")

    def at(t: F64) -> F64:
        try:
            return _rows(tool.points(t.tolist()))
        except BROKEN as error:
            raise CurveError(f"cannot be followed ({type(error).__name__})") from error

    return Curve(at, frozen(breaks))


def _rows(points: Iterable[Vec3]) -> F64:
    return np.array([tuple(p) for p in points], dtype=np.float64)


def _flat(curve: Curve, mm: float, found: _Found) -> Curve:
    """Return a curve in mm in the drawing's plane."""
    with np.errstate(all="ignore"):  # what overflows is not finite, and told where sizes are looked at
        height = curve.coarse()[:, 2] * mm
    if found.level_mm is None:
        found.level_mm = float(height[0])
    if float(np.abs(height - found.level_mm).max()) > WITHIN_MM:
        raise DrawingError("does not lie flat: some of it stands out of the drawing's plane", "draw it in one plane")
    return replace(curve, at=lambda t: curve.at(t)[:, :2] * mm)
