"""What outlines does a drawing of slices hold?

Its closed lines are sorted as the shapes on a scan are: large ones side by side are slices, what lies in a slice is a
spot or its other edge, and small ones beside it are marks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.drawing import DrawnSheet
from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.find import LEAST_SLICE_MM2
from portgeom.capture.tracing.order import BAR_RATIO, Marks, marks_beside, reading_order
from portgeom.capture.tracing.place import SPOT_MM2, outside_notes, placing
from portgeom.capture.tracing.trace import ASIDE_MM2, ASIDE_SHARE, numbers_of, seen_whole
from portgeom.capture.tracing.traced import ALL, Slice, Wish
from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.outline import Outline
from portgeom.job.drawing import holds_origin

FAR_SHARE = 0.02
"""A drawing's own origin this far from the centroid, as a share of the outline's size, was put there on purpose."""


@dataclass(frozen=True, slots=True)
class TracedDrawing:
    """A drawing and the slices in it, by number. ``marks_mm`` (m, 2) lie beside them."""

    sheet: DrawnSheet
    slices: tuple[Slice, ...]
    marks_mm: F64
    notes: tuple[str, ...]

    @property
    def name(self) -> str:
        """Return the file's name."""
        return self.sheet.name

    @property
    def scale_words(self) -> str:
        """Return where the scale comes from."""
        return self.sheet.loops.unit_words

    @property
    def told(self) -> tuple[str, ...]:
        """Return what a person should know of the whole drawing."""
        return (*self.sheet.loops.told, *self.notes)

    def to_page(self, points_mm: F64) -> F64:
        """Return where places on the sheet (n, 2) are drawn: where they are."""
        return points_mm


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A slice as drawn: the line that is its outer edge, and the lines in it."""

    outer: Outline
    inside: tuple[Outline, ...]

    @property
    def words(self) -> str:
        return f"the slice drawn about {_place(self.outer)}"


def trace_drawing(sheet: DrawnSheet, wish: Wish) -> TracedDrawing:
    """Return the slices in a drawing.

    Raises
    ------
    Unsure
        With the first reason why it is not clear what was meant.
    """
    drawn, small = _sorted(sheet.loops.outlines)
    _refuse_count(drawn, wish.slices)
    edges = [_meant(one, wish) for one in drawn]
    places = np.array([o.centroid_mm for o in small]).reshape(-1, 2)
    marks = [Marks(np.empty((0, 2)), ())] * len(drawn)
    if wish.roof == "mark" or wish.numbering == "tally":
        marks = marks_beside([e.outer.points_mm for e in edges], places, [_is_bar(o) for o in small])
    numbers = numbers_of(marks, wish.numbering)
    slices = []
    for number, edge, own in zip(numbers, edges, marks, strict=True):
        try:
            slices.append(_slice(number, edge, own.places_mm, sheet.loops.within_mm, wish))
        except Unsure as unsure:
            raise Unsure(f"{edge.words} {unsure.found}", unsure.mend, about=unsure.about) from unsure
    unused = len(small) - sum(len(m.bars) for m in marks)
    notes = (f"{unused} small closed line{'s' if unused > 1 else ''} beside not used",) if unused else ()
    return TracedDrawing(sheet, tuple(sorted(slices, key=lambda s: s.number)), frozen(places), notes)


def _sorted(outlines: tuple[Outline, ...]) -> tuple[list[_Drawn], list[Outline]]:
    """Return the slices in reading order, and what is too small to be one; lines do not cross each other."""
    import shapely

    shapes = [shapely.Polygon(o.points_mm) for o in outlines]
    tree = shapely.STRtree(shapes)
    held: dict[int, list[int]] = {k: [] for k in range(len(shapes))}
    for inner, outer in zip(*(a.tolist() for a in tree.query(shapes, predicate="within")), strict=True):
        if inner != outer:
            held[inner].append(outer)
    top = [k for k, holders in held.items() if not holders]
    large = [k for k in top if outlines[k].area_mm2 >= LEAST_SLICE_MM2] or top
    small = [outlines[k] for k in top if k not in large]
    # of lines within lines only the outermost count: what lies in a hole is no part of the slice
    drawn = [_Drawn(outlines[k], tuple(outlines[j] for j, holders in held.items() if holders == [k])) for k in large]
    middles = np.array([0.5 * (d.outer.low_mm + d.outer.high_mm) * (1.0, -1.0) for d in drawn])
    order = reading_order(middles, np.array([d.outer.height_mm for d in drawn]))
    return [drawn[k] for k in order], small


def _refuse_count(drawn: list[_Drawn], wanted: int) -> None:
    if wanted in (ALL, len(drawn)):
        return
    places = ", ".join(f"{d.outer.area_mm2:.0f} mm2 about {_place(d.outer)}" for d in drawn[:8])
    more = ", and more" if len(drawn) > 8 else ""
    raise Unsure(
        f"holds {len(drawn)} closed lines side by side that could be slices, not {wanted}: {places}{more}",
        f"say --slices {len(drawn)} if all of them are, or choose with --layer",
        about="slices",
    )


def _meant(one: _Drawn, wish: Wish) -> _Drawn:
    """Return the slice with the edge that is meant, where a line in it may be the passage."""
    inside = sorted(one.inside, key=lambda o: -o.area_mm2)
    outer = one.outer.area_mm2
    if not inside or inside[0].area_mm2 < min(ASIDE_MM2, ASIDE_SHARE * outer):
        if wish.edge == "inner":
            raise Unsure(f"{one.words} has no inner edge", "leave --edge out", about="outline")
        return one
    if wish.edge is None:
        raise Unsure(
            f"{one.words} has two edges, of {outer:.0f} mm2 and, inside it, {inside[0].area_mm2:.0f} mm2",
            "say which is the passage with --edge outer or --edge inner, or choose with --layer",
            about="outline",
        )
    return one if wish.edge == "outer" else _Drawn(inside[0], ())


def _slice(number: int, edge: _Drawn, marks_mm: F64, within_mm: float, wish: Wish) -> Slice:
    points = edge.outer.points_mm
    where = placing(
        points,
        tuple(o.points_mm for o in edge.inside),
        marks_mm,
        roof=wish.roof,
        origin=wish.origin,
        mirrored=wish.mirrored,
        frame="drawing",
    )
    section = where.to_section(points)
    growth = wish.mould.growth if wish.mould is not None else 1.0
    outline = Outline.polygon(growth * (section[::-1] if where.mirrored else section))
    seen = seen_whole(outline, where, growth)
    size = np.ptp(section, axis=0)
    return Slice(
        number=number,
        outline=seen.outline,
        sheet_mm=points,
        placing=where,
        width_mm=float(size[0]),
        height_mm=float(size[1]),
        smoothed_mm=0.0,
        within_mm=growth * within_mm,
        hairs_mm=(),
        bumps=(),
        pockets_mm=seen.pockets_mm,
        notes=(*_inside_notes(edge, wish), *_origin_notes(edge.outer, wish), *outside_notes(outline, wish.origin)),
        warnings=seen.warnings,
    )


def _inside_notes(edge: _Drawn, wish: Wish) -> tuple[str, ...]:
    areas = [o.area_mm2 for o in edge.inside]
    count = len(areas)
    if isinstance(wish.origin, str) and wish.origin == "mark":
        count = sum(not SPOT_MM2[0] <= a <= SPOT_MM2[1] for a in areas)
    return (f"{count} closed line{'s' if count > 1 else ''} inside it left out",) if count else ()


def _origin_notes(outer: Outline, wish: Wish) -> tuple[str, ...]:
    """Tell where a drawing was drawn about a place of its own, which the centroid would lose."""
    if wish.slices != 1 or not isinstance(wish.origin, str) or wish.origin != "centroid" or not holds_origin(outer):
        return ()
    u, v = outer.centroid_mm
    if np.hypot(u, v) <= FAR_SHARE * np.sqrt(outer.area_mm2):
        return ()
    return (f"its centroid lies at u {u:.2f}, v {v:.2f} mm of the drawing; --origin drawing keeps the drawing's own",)


def _place(outline: Outline) -> str:
    u, v = np.round(outline.centroid_mm, 1) + 0.0  # no minus zero
    return f"u {u:.1f}, v {v:.1f} mm"


def _is_bar(outline: Outline) -> bool:
    """Return whether a mark is long rather than round, by the smallest box round it."""
    import shapely

    box = shapely.get_coordinates(shapely.oriented_envelope(shapely.Polygon(outline.points_mm)))
    sides = np.hypot(*np.diff(box[:3], axis=0).T)
    return bool(sides.max() > BAR_RATIO * sides.min())
