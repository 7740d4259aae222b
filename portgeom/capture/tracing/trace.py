"""What outlines does a picture of slices hold?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.images.file import Picture
from portgeom.capture.images.scale import Scale
from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.bumps import bumps
from portgeom.capture.tracing.edge import Edge, trace_edge
from portgeom.capture.tracing.find import Coarse, Patch, find_patches
from portgeom.capture.tracing.hairs import without_hairs
from portgeom.capture.tracing.order import Marks, is_bar, marks_beside, reading_order
from portgeom.capture.tracing.place import Placing, outside_notes, placing
from portgeom.capture.tracing.slice_notes import bump_notes, hair_notes, soft_notes, spot_notes
from portgeom.capture.tracing.smooth import smoothed
from portgeom.capture.tracing.traced import ALL, EdgeWay, Numbering, Slice, Traced, Wish
from portgeom.capture.undercut import CUT_OFF, Hidden, opened
from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.outline import Outline, OutlineError

ASIDE_MM2 = 60.0
ASIDE_SHARE = 0.05
"""A patch of bare sheet in a slice, this large or so much of it, may be what was meant."""

LEVEL_SHARE = 0.1
"""How well half way between two measured lights is known, as a share of the step between them."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A slice as a job can hold it: its outline, the pockets cut off it on the sheet, and what is to be warned of."""

    outline: Outline
    pockets_mm: tuple[F64, ...]
    warnings: tuple[str, ...]


def trace_picture(picture: Picture, scale: Scale, wish: Wish) -> Traced:
    """Return the slices in a picture.

    Raises
    ------
    Unsure
        With the first reason why it cannot be traced with confidence.
    """
    _refuse_origin(picture, wish)
    coarse = find_patches(picture, scale, tone=wish.tone, coding=wish.coding)
    patches = _in_order(coarse, scale)
    _refuse_count(patches, wish.slices, scale)
    edges = [_meant(trace_edge(picture, coarse, patch, scale), patch, scale, wish.edge) for patch in patches]
    sheets = [_anticlockwise(scale.to_mm(edge.points_px)) for edge in edges]
    places = scale.to_mm(np.array([m.middle_px for m in coarse.marks]).reshape(-1, 2))
    marks = [Marks(np.empty((0, 2)), ())] * len(patches)
    if wish.roof == "mark" or wish.numbering == "tally":
        marks = marks_beside(sheets, places, [is_bar(coarse, m) for m in coarse.marks])
    numbers = numbers_of(marks, wish.numbering)
    slices = []
    for number, patch, edge, sheet, own in zip(numbers, patches, edges, sheets, marks, strict=True):
        try:
            slices.append(_slice(number, edge, sheet, own.places_mm, scale, wish))
        except Unsure as unsure:
            raise Unsure(f"{_named(patch, number)} {unsure.found}", unsure.mend, about=unsure.about) from unsure
        except OutlineError as error:
            raise Unsure(f"{_named(patch, number)}: {error}", "scan it again", about="outline") from error
    specks = scale.to_mm(np.array([s.middle_px for s in coarse.specks]).reshape(-1, 2))
    return Traced(
        picture=picture,
        scale=scale,
        tone=coarse.tone,
        channel=coarse.channel,
        slices=tuple(sorted(slices, key=lambda s: s.number)),
        specks_mm=frozen(specks),
        marks_mm=frozen(places),
        notes=_notes(coarse, len(specks), marks),
    )


def _refuse_origin(picture: Picture, wish: Wish) -> None:
    if isinstance(wish.origin, str):
        if wish.origin == "drawing":
            raise Unsure("a picture has no origin of its own", "take another --origin", about="origin")
        return
    x, y = wish.origin
    if not (0.0 <= x <= picture.width - 1 and 0.0 <= y <= picture.height - 1):
        raise Unsure(
            f"the origin at {x:g},{y:g} is outside its {picture.width} x {picture.height} pixels",
            "give it in pixels, from the top left",
            about="origin",
        )


def _in_order(coarse: Coarse, scale: Scale) -> list[Patch]:
    boxes = np.array([p.box for p in coarse.slices], dtype=np.float64).reshape(-1, 2, 2)
    # corners of each box on the sheet, where rows are rows however the camera was turned
    corners = np.stack([boxes[:, i, 0] for i in (0, 1, 1, 0)] + [boxes[:, i, 1] for i in (0, 0, 1, 1)], axis=-1)
    sheet = scale.to_mm(coarse.to_px(corners.reshape(-1, 2, 4).transpose(0, 2, 1)).reshape(-1, 2)).reshape(-1, 4, 2)
    middles = sheet.mean(axis=1) * np.array([1.0, -1.0])
    return [coarse.slices[k] for k in reading_order(middles, np.ptp(sheet[..., 1], axis=1))]


def _refuse_count(patches: list[Patch], wanted: int, scale: Scale) -> None:
    if wanted in (ALL, len(patches)):
        return
    places = [f"{p.area_mm2:.0f} mm2 at pixel {p.middle_px[0]:.0f},{p.middle_px[1]:.0f}" for p in patches[:8]]
    more = ", and more" if len(patches) > 8 else ""
    raise Unsure(
        f"shows {len(patches)} shapes that could be slices, not {wanted}: {', '.join(places)}{more}",
        f"say --slices {len(patches)} if all of them are, or crop the picture",
        about="slices",
    )


def _meant(edge: Edge, patch: Patch, scale: Scale, way: EdgeWay | None) -> Edge:
    """Return the edge that is meant where a slice has a hole that may be the passage."""
    per_px2 = scale.mm_per_px(patch.middle_px) ** 2
    areas = [abs(float(polygon_moments(s).area_mm2)) * per_px2 for s in edge.spots_px]
    outer = abs(float(polygon_moments(edge.points_px).area_mm2)) * per_px2
    if not areas or areas[0] < min(ASIDE_MM2, ASIDE_SHARE * outer):
        if way == "inner":
            raise Unsure(f"{_named(patch, None)} has no inner edge", "leave --edge out", about="outline")
        return edge
    if way is None:
        raise Unsure(
            f"{_named(patch, None)} has two edges, of {outer:.0f} mm2 and, inside it, {areas[0]:.0f} mm2",
            "say which is the passage with --edge outer or --edge inner",
            about="outline",
        )
    if way == "outer":
        return edge
    # the same light on both sides, so the outer edge's widths stand for the inner one's
    width = np.full(len(edge.spots_px[0]), float(np.median(edge.width_px)))
    return Edge(edge.spots_px[0], width, (), edge.contrast, edge.noise)


def numbers_of(marks: list[Marks], numbering: Numbering) -> list[int]:
    """Return the number of each slice: its place in the list, or what its marks spell; raises Unsure."""
    if numbering == "order":
        return list(range(1, len(marks) + 1))
    numbers = [m.tally for m in marks]
    for k, number in enumerate(numbers):
        if not number or number in numbers[:k]:
            what = "no marks beside it" if not number else f"marks for {number}, as another has"
            raise Unsure(
                f"slice {k + 1} from the top left has {what}",
                "lay as many dots beside each slice as its number, a bar counting five",
                about="marks",
            )
    return numbers


def _slice(number: int, edge: Edge, sheet_mm: F64, marks_mm: F64, scale: Scale, wish: Wish) -> Slice:
    cleaned = without_hairs(sheet_mm)
    smooth = smoothed(cleaned.points_mm)
    origin = wish.origin
    if not isinstance(origin, str):
        origin = scale.to_mm(np.asarray(origin, dtype=np.float64).reshape(1, 2))[0]
    where = placing(
        smooth.points_mm,
        tuple(scale.to_mm(s) for s in edge.spots_px),
        marks_mm,
        roof=wish.roof,
        origin=origin,
        mirrored=wish.mirrored,
        frame=scale.frame,
    )
    section = where.to_section(smooth.points_mm)
    growth = wish.mould.growth if wish.mould is not None else 1.0
    outline = Outline.polygon(_anticlockwise(growth * section))
    seen = seen_whole(outline, where, growth)
    size = np.ptp(section, axis=0)
    width_mm = edge.width_px * scale.mm_per_px(edge.points_px.mean(axis=0))
    level = LEVEL_SHARE * float(np.percentile(width_mm, 95.0))
    within = growth * (smooth.moved_mm + level + scale.error_ratio * 0.5 * float(size.max()))
    found = bumps(smooth.points_mm)
    notes = (
        *hair_notes(cleaned.hairs_mm),
        *soft_notes(width_mm, edge),
        *spot_notes(edge, scale, mark=isinstance(wish.origin, str) and wish.origin == "mark"),
    )
    notes = (*notes, *outside_notes(outline, wish.origin))
    return Slice(
        number=number,
        outline=seen.outline,
        sheet_mm=smooth.points_mm,
        placing=where,
        width_mm=float(size[0]),
        height_mm=float(size[1]),
        smoothed_mm=smooth.moved_mm,
        within_mm=within,
        hairs_mm=cleaned.hairs_mm,
        bumps=found,
        pockets_mm=seen.pockets_mm,
        notes=(*notes, *bump_notes(found, scale)),
        warnings=seen.warnings,
    )


def seen_whole(outline: Outline, where: Placing, growth: float) -> Seen:
    """Return a slice without what a job could not hold of it; ``growth`` makes a mould's shrinking good."""
    try:
        whole = opened(outline)
    except Hidden as hidden:
        words = f"{hidden.found}: a job will refuse it; check --roof, or cut the mould along another plane"
        return Seen(outline, (), (words,))
    pockets = tuple(frozen(where.to_sheet(pocket / growth)) for pocket in whole.pockets_mm)
    return Seen(whole.outline, pockets, (f"{whole.found}: {CUT_OFF}",) if whole.found else ())


def _notes(coarse: Coarse, specks: int, marks: list[Marks]) -> tuple[str, ...]:
    notes = []
    if specks:
        notes.append(f"{specks} speck{'s' if specks > 1 else ''} on the sheet left out")
    unused = len(coarse.marks) - sum(len(m.bars) for m in marks)
    if unused:
        notes.append(f"{unused} mark{'s' if unused > 1 else ''} on the sheet not used")
    if coarse.channel != "grey":
        notes.append(f"traced in {coarse.channel} light, in which the slices stand out best")
    return tuple(notes)


def _anticlockwise(points_mm: F64) -> F64:
    return points_mm if float(polygon_moments(points_mm).area_mm2) > 0.0 else points_mm[::-1]


def _named(patch: Patch, number: int | None) -> str:
    which = "the slice" if number is None else f"slice {number}"
    return f"{which} at pixel {patch.middle_px[0]:.0f},{patch.middle_px[1]:.0f}"
