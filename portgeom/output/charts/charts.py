"""What are all the drawings of one stage of a port, for a page or as files?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Literal, TypeAlias

from portgeom.job.values import Limits
from portgeom.output.charts import area_chart, pass_chart, roof_chart, section_chart, side_chart, wall_chart
from portgeom.output.charts.figures import look, png_bytes
from portgeom.output.charts.sheet import Sheet
from portgeom.output.charts.sheet_figure import figure_of
from portgeom.output.charts.sheet_svg import svg_file_of, svg_of
from portgeom.output.files.whole_file import refuse_if_there, write_whole
from portgeom.output.report.walls import state_words
from portgeom.output.words.shown import Shown
from portgeom.questions.uncertainty.sure import Band
from portgeom.questions.walls.walls import WallMap
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ImageKind: TypeAlias = Literal["svg", "png"]

PNG_DPI = 150


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing: its name, title, how to look at it, what it shows in words, and its marks."""

    name: str
    title: str
    convention: str
    describe: str
    drawn: Sheet

    def svg(self, prefix: str) -> str:
        """Return it as SVG for the inside of a page; ``prefix`` keeps its ids apart from others'."""
        return svg_of(self.drawn, name=f"{prefix}-{self.name}", describe=self.describe)

    def draw(self) -> Figure:
        """Return it as a figure, for paper; call it within ``figures.look``."""
        return figure_of(self.drawn)

    def file(self, kind: ImageKind) -> bytes:
        """Return it as a file's content."""
        if kind == "svg":
            return svg_file_of(self.drawn, describe=self.describe)
        with look():
            return png_bytes(figure_of(self.drawn), dpi=PNG_DPI)


def drawings(answer: Answers, shown: Shown, limits: Limits, *, band: Band | None = None) -> tuple[Drawing, ...]:
    """Return the drawings of one stage of a port, in the order one reads them.

    ``band`` is in which the flow area lies by its readings, where that was asked.
    """
    port, stage = answer.port.port, answer.stage
    who = f"port {port.name}, {stage.stage.name}"
    stations = _stations(answer)
    changes = answer.removal.volume_mm3 > 0.0
    side = side_chart.side_chart(answer, shown)
    roof = roof_chart.roof_chart(answer.roof, port, stations, shown, bulge_limit_mm=limits.bulge_mm)
    area = area_chart.area_chart(
        answer.profile,
        shown,
        after_mm2=answer.removal.after.flow_area_mm2 if changes else None,
        cone_limit_deg=limits.cone_angle_deg,
        band=band,
    )
    sections = section_chart.section_charts(answer, shown)
    peak, count = answer.roof.peak, len(answer.roof.bulges)
    return (
        Drawing(
            "side",
            "Side view",
            side_chart.CONVENTION,
            f"Side view of {who}: roof, floor, path, wanted roof line and station planes.",
            side_chart.draw_side(side),
        ),
        Drawing(
            "roof",
            "Roof map",
            roof_chart.CONVENTION,
            f"Roof map of {who}: heights over the wanted line, at most {shown.proud(peak.proud_mm)}, at "
            f"{shown.length(peak.distance_mm)}; {count} bulge{'' if count == 1 else 's'}.",
            roof_chart.draw_roof(roof),
        ),
        Drawing(
            "area",
            "Area along the path",
            "square to the flow, manifold face at the left, throat at the right",
            f"Flow area of {who} against distance, with stations, the line it is held against, necks and bellies.",
            area_chart.draw_area(area),
        ),
        *(_sections(page, number, len(sections), who) for number, page in enumerate(sections, 1)),
    )


def _sections(page: section_chart.SectionChart, number: int, count: int, who: str) -> Drawing:
    part = "" if count == 1 else f" ({number} of {count})"
    return Drawing(
        "sections" if number == 1 else f"sections-{number}",
        f"Sections{part}",
        "every station, all at one scale",
        f"Sections of {who}{part}: present and wanted outline at every station.",
        section_chart.draw_sections(page),
    )


def cutting_drawings(
    answer: Answers, cutting: Cutting, shown: Shown, *, done_map: WallMap | None = None
) -> tuple[Drawing, ...]:
    """Return the drawings of how one stage of a port is cut: of passes and of walls, where there are any.

    ``done_map`` is ``cutting.finished_map()`` where that has been asked already.
    """
    port, stage = answer.port.port, answer.stage
    who = f"port {port.name}, {stage.stage.name}"
    made = []
    if cutting.results:
        passes = pass_chart.pass_chart(answer, cutting, shown)
        made.append(
            Drawing(
                "passes",
                "Area after each pass",
                pass_chart.CONVENTION,
                f"Flow area of {who} against distance: as it is, after each of {len(passes.names)} passes, as wanted.",
                pass_chart.draw_passes(passes),
            )
        )
    if cutting.hazards:
        done = cutting.finished
        whole_map = done_map or cutting.finished_map()
        walls = wall_chart.wall_chart(done, whole_map, port, _stations(answer), shown)
        made.append(
            Drawing(
                "walls",
                f"Metal left behind the walls, {state_words(done)}",
                wall_chart.CONVENTION,
                f"Metal left all round {who}, {state_words(done)}: " + "; ".join(m.words for m in walls.marks) + ".",
                wall_chart.draw_walls(walls),
            )
        )
    return tuple(made)


def _stations(answer: Answers) -> tuple[tuple[str, float], ...]:
    stage = answer.stage
    return tuple((row.station, float(s)) for row, s in zip(stage.stage.sections.rows, stage.distance_mm, strict=True))


def write_charts(
    answer: Answers,
    cutting: Cutting,
    shown: Shown,
    folder: FilePath,
    *,
    limits: Limits,
    stem: str,
    kind: ImageKind = "svg",
    band: Band | None = None,
    force: bool = False,
) -> tuple[FilePath, ...]:
    """Write every drawing of one stage of a port as ``<stem>-<name>.svg`` or ``.png``; return the paths.

    Raises
    ------
    FileExistsError
        If a file is there and ``force`` is not given; then none is written.
    """
    every = [*drawings(answer, shown, limits, band=band), *cutting_drawings(answer, cutting, shown)]
    places = [folder / f"{stem}-{d.name}.{kind}" for d in every]
    for path in places:
        refuse_if_there(path, force=force)
    made = [(path, d.file(kind)) for path, d in zip(places, every, strict=True)]
    for path, data in made:
        write_whole(path, data, force=force)
    return tuple(path for path, _ in made)
