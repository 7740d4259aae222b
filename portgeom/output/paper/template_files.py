"""What does a file of template pieces hold, by its kind?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.values import Units
from portgeom.output.paper.paper import Paper
from portgeom.output.paper.template_drawing import Drawn
from portgeom.output.paper.template_dxf import templates_dxf
from portgeom.output.paper.template_page import templates_pdf
from portgeom.output.paper.template_svg import templates_svg


def template_file(kind: str, title: str, pieces: Sequence[Drawn], *, units: Units, paper: Paper) -> bytes:
    """Return the file's content; ``kind`` is "pdf", "svg" or "dxf"."""
    if kind == "pdf":
        return templates_pdf(title, pieces, units=units, paper=paper)
    if kind == "dxf":
        return templates_dxf(title, pieces, units=units)
    return templates_svg(title, pieces, units=units).encode("utf-8")
