"""``report``: one file with all of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..leaves import refuse_kind
from ..options import job_argument, open_job, port_option, stage_option, tells_faults, units_option
from ..pacing import in_turn, working
from ..saying import talk
from ..sure import draws_option

if TYPE_CHECKING:
    from portgeom.job.values import Units
    from portgeom.output.paper.paper import Paper


@click.command("report")
@job_argument
@port_option
@stage_option
@units_option
@click.option("--out", "path", type=click.Path(path_type=Path), help="The file; else report/NAME-OF-THE-JOB.html.")
@click.option("--pdf", "pdf", type=click.Path(path_type=Path), help="For paper: write this PDF; HTML only with --out.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of the PDF.")
@click.option("--charts", "charts", type=click.Path(path_type=Path), help="Also write every drawing as a PNG here.")
@click.option("--propose", "propose", is_flag=True, help="With targets proposed; takes some seconds more.")
@click.option("--force", is_flag=True, help="Write over a file that is there, even one that is no report.")
@draws_option
@tells_faults
def command(
    job_path: Path,
    port_names: tuple[str, ...],
    stage_name: str | None,
    units: Units | None,
    path: Path | None,
    pdf: Path | None,
    paper: Paper,
    charts: Path | None,
    propose: bool,
    force: bool,
    draws: int,
) -> None:
    """One HTML file for the bench and for the customer. It opens anywhere and asks for nothing outside itself.

    With --pdf the same on paper.
    """
    from portgeom.output.files.whole_file import refuse_if_there, write_whole
    from portgeom.output.report.page import is_report
    from portgeom.questions.whole_job import whole_job

    if path is not None:
        refuse_kind(path, "--out", (".html",))
    if pdf is not None:
        refuse_kind(pdf, "--pdf", (".pdf",))
    opened = open_job(job_path, port_names, stage_name, units)
    name = opened.job.folder.resolve().name or "job"
    place = path or Path("report") / f"{name}.html"
    again = force or is_report(place)
    page = path is not None or pdf is None
    if page:
        refuse_if_there(place, force=again)
    if pdf is not None:
        refuse_if_there(pdf, force=force)
    if charts is not None:
        refuse_if_there(charts / "a chart", force=True)  # the folder, so that no page is left without them

    def waited_for(parts: Sequence[int]) -> Iterator[int]:
        # while copies of the process work: what writes the page takes a while to start
        import_module("portgeom.output.report.report")
        return in_turn(
            parts, "report", lambda k: f"port {opened.chosen[k - 1][0].port.name}" if k else "all ports together"
        )

    whole = whole_job(
        opened.job,
        opened.ports,
        opened.chosen,
        units=opened.units,
        propose=propose,
        draws=draws,
        in_turn=waited_for,
    )
    if page:
        from portgeom.output.report.report import write_report

        with working("page"):
            write_report(whole, place, force=again)
    if pdf is not None:
        from portgeom.output.paper.report_pdf import report_pdf

        with working("PDF"):
            data = report_pdf(whole, paper=paper)
        write_whole(pdf, data, force=force)
    if charts is not None:
        from portgeom.output.charts.charts import write_charts
        from portgeom.output.files.mesh_files import file_stems
        from portgeom.output.words.shown import Shown

        shown = Shown(opened.units)
        stems = file_stems([(s.answers.port.port.name, s.answers.stage.stage.name) for s in whole.stages])
        for s, stem in zip(whole.stages, stems, strict=True):
            limits = opened.job.limits
            band = None if s.sure is None else s.sure.band
            write_charts(
                s.answers, s.cutting, shown, charts, limits=limits, stem=stem, kind="png", band=band, force=force
            )
    count = len({s.answers.port.port.name for s in whole.stages})
    places = " and ".join(str(p) for p in ((place,) if page else ()) + ((pdf,) if pdf is not None else ()))
    talk(f"The report on {count} port{'s' if count != 1 else ''} lies in {places}")
