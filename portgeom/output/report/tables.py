"""Which tables does a report hold for one stage of a port?"""

from __future__ import annotations

from portgeom.output.words.markup import EMPTY, Html, join, table
from portgeom.output.words.shown import Shown, percent
from portgeom.questions.shape.places import BenchScale, bench_scale
from portgeom.questions.shape.taper import Dip
from portgeom.questions.whole import Answers


def tables(answer: Answers, shown: Shown) -> Html:
    """Return every table of one stage of a port."""
    scale = bench_scale(answer.stage.surface)
    return join(
        (
            _stations(answer, scale, shown),
            _bulges(answer, scale, shown),
            _dips(answer, scale, shown),
            _zones(answer, scale, shown),
        )
    )


def places(shown: Shown) -> list[str]:
    """Return the headings of a place: along the path, square from the face, along the roof."""
    return [f"at, {shown.units}", f"square from the face, {shown.units}", f"along the roof, {shown.units}"]


def place(distance_mm: float, scale: BenchScale, shown: Shown) -> list[str]:
    """Return the cells of a place."""
    return [
        shown.number(distance_mm),
        shown.number(scale.square_at(distance_mm)),
        shown.number(scale.along_roof_at(distance_mm)),
    ]


def _stations(answer: Answers, scale: BenchScale, shown: Shown) -> Html:
    u = shown.units
    after = answer.removal.after.flow_area_mm2
    rows = [
        [
            s.station,
            s.place,
            *place(s.distance_mm, scale, shown),
            shown.area_number(s.area_mm2),
            shown.area_number(s.flow_area_mm2),
            shown.area_number(float(after[slab])),
            shown.number(s.width_mm),
            shown.number(s.height_mm),
            shown.number(s.perimeter_mm),
            shown.number(s.hydraulic_diameter_mm),
        ]
        for s, slab in zip(answer.profile.stations, answer.stage.slab, strict=True)
    ]
    headings = [
        "station",
        "place",
        *places(shown),
        f"area, {u}2",
        f"flow area, {u}2",
        f"flow area then, {u}2",
        f"width, {u}",
        f"height, {u}",
        f"perimeter, {u}",
        f"hydraulic diameter, {u}",
    ]
    return table(
        "Stations as measured; 'then' is once the metal is off, distances along the path unless said",
        headings,
        rows,
        left=2,
    )


def _bulges(answer: Answers, scale: BenchScale, shown: Shown) -> Html:
    if not answer.roof.bulges:
        return EMPTY
    u = shown.units
    rows = [
        [
            str(k),
            shown.proud(b.peak.proud_mm),
            shown.across(b.peak.across_mm),
            *place(b.peak.distance_mm, scale, shown),
            shown.number(b.stands_out_mm),
            shown.number(b.from_mm),
            shown.number(b.to_mm),
            shown.number(b.across_to_mm - b.across_from_mm),
            shown.area_number(b.area_mm2),
            shown.volume_number(b.volume_mm3),
            f"{b.stations_seen}, few" if b.thinly_measured else str(b.stations_seen),
        ]
        for k, b in enumerate(answer.roof.bulges, 1)
    ]
    headings = [
        "bulge",
        "at its peak",
        "peak across",
        *places(shown),
        f"stands out, {u}",
        f"from, {u}",
        f"to, {u}",
        f"across, {u}",
        f"area, {u}2",
        "cc",
        "stations seen",
    ]
    return table("Bulges: what stands out of the roof around it, the largest first", headings, rows, left=3)


def _dips(answer: Answers, scale: BenchScale, shown: Shown) -> Html:
    taper = answer.profile.taper
    rows = [
        [kind, _remark(d), *place(d.distance_mm, scale, shown), shown.area_number(d.area_mm2), percent(d.percent)]
        for kind, dips in (("neck", taper.necks), ("belly", taper.bellies))
        for d in dips
    ]
    if not rows:
        return EMPTY
    headings = ["what", "remark", *places(shown), f"flow area, {shown.units}2", "size over the nearer shoulder"]
    return table("Necks and bellies of the flow area as it is", headings, rows, left=2)


def _remark(dip: Dip) -> str:
    if dip.planned:
        return "as the line has it"
    return "seen only between stations: measure one there" if dip.between_stations else "measured"


def _zones(answer: Answers, scale: BenchScale, shown: Shown) -> Html:
    result = answer.removal
    if result.volume_mm3 <= 0.0:
        return EMPTY
    names = [s.station for s in answer.profile.stations]
    rows = [
        [
            f"{a} to {b}",
            f"{shown.number(z.from_mm)} to {shown.number(z.to_mm)}",
            f"{shown.number(scale.square_at(z.from_mm))} to {shown.number(scale.square_at(z.to_mm))}",
            f"{shown.number(scale.along_roof_at(z.from_mm))} to {shown.number(scale.along_roof_at(z.to_mm))}",
            shown.volume_number(z.volume_mm3),
            f"{z.volume_mm3 / result.volume_mm3 * result.mass_g:.0f}",
        ]
        for a, b, z in zip(names[:-1], names[1:], result.by_zone, strict=True)
    ]
    return table("Metal to take off, between stations", ["stations", *places(shown), "cc", "g"], rows, left=1)
