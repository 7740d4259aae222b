"""What are template pieces as a DXF drawing, in real units on named layers, for a laser or a mill?"""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np

from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.output.paper.lettering import printable
from portgeom.output.paper.template_drawing import Drawn, Lettering, Stroke
from portgeom.output.paper.template_page import BAR_MM, BAR_WORDS
from portgeom.output.paper.template_svg import laid_out

INSUNITS: dict[Units, int] = {"mm": 4, "in": 1}
"""Codes of a drawing's units: DXF reference, header variable $INSUNITS."""

COLOURS = {"cut": 1, "mark": 5, "text": 8}
"""Colour numbers of the layers: red, blue, grey."""


def templates_dxf(title: str, pieces: Sequence[Drawn], *, units: Units) -> bytes:
    """Return pieces as a DXF file: closed lines to cut, marks and words, each on a layer of its own.

    Lengths are in the job's units, as the file's header says.
    """
    from ezdxf.enums import TextEntityAlignment
    from ezdxf.filemanagement import new

    drawing = new("R2010", setup=["linetypes"])
    drawing.header["$INSUNITS"] = INSUNITS[units]
    drawing.header["$MEASUREMENT"] = int(units == "mm")
    scale = length_from_mm(1.0, units)
    drawing.header["$LTSCALE"] = 0.2 if units == "mm" else 0.2 * scale
    for name, colour in COLOURS.items():
        drawing.layers.add(name, color=colour)
    space = drawing.modelspace()
    placed = laid_out(pieces)
    bar = BAR_MM[units]
    ends = [Stroke("mark", np.array([[x, 6.0], [x, 10.0]])) for x in (0.0, bar)]
    strokes = [Stroke("mark", np.array([[0.0, 8.0], [bar, 8.0]])), *ends, *(s for p in placed for s in p.strokes)]
    for stroke in strokes:
        points = [(float(x), float(y)) for x, y in stroke.points_mm * scale]
        look = {"layer": stroke.layer, **({"linetype": "DASHED"} if stroke.dashed else {})}
        space.add_lwpolyline(points, close=stroke.closed, dxfattribs=look)
    words = [
        Lettering((0.0, 12.0), printable(title), 4.0, middle=False),
        Lettering((bar + 6.0, 7.0), printable(BAR_WORDS[units]), 2.4, middle=False),
        *(t for p in placed for t in p.letters),
    ]
    for text in words:
        # capitals stand at 0.73 of the letters' size, and a DXF text's height is that of its capitals
        entity = space.add_text(_plain(text.words), height=0.73 * text.size * scale, dxfattribs={"layer": "text"})
        align = TextEntityAlignment.MIDDLE_CENTER if text.middle else TextEntityAlignment.LEFT
        entity.set_placement((text.place[0] * scale, text.place[1] * scale), align=align)
    out = io.StringIO()
    drawing.write(out)
    return out.getvalue().encode("utf-8")


def _plain(words: str) -> str:
    """Return words in which a DXF reader finds no codes of its own (%%c and the like, ^J)."""
    return words.replace("%%", "% %").replace("^", "^ ")
