"""What does the scale card look like on paper, at 1:1?"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Literal, TypeAlias

from portgeom.capture.images.scale_card import (
    A_TO_B_MM,
    CORNERS_MM,
    DOT_MM,
    FIELD_MM,
    HALF_HEIGHT_MM,
    HALF_WIDTH_MM,
    HOLE_MM,
    MARKS_MM,
    RING_MM,
)

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Paper: TypeAlias = Literal["a4", "letter"]

PAPER_MM: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
POINTS_PER_MM = 72.0 / 25.4
BLACK_MARGIN_MM = 2.0
"""How far the black field reaches beyond where slices may lie, so that its edge stays out of the way."""

WORDS = (
    "Print at 100 percent, without fitting to the page, and check with a ruler: A to B is {ab:.0f} mm, A to C "
    "{ac:.0f} mm.",
    "If A to B is another length, say it with --distance. Lay the sheet flat, the slices inside the field, nothing on "
    "the rings.",
    "Look down on it squarely and from far away, all nine rings in the picture, and trace with --card.",
)


def scale_card_pdf(*, paper: Paper = "a4") -> bytes:
    """Return the scale card as a PDF of two pages at 1:1: a white field for dark slices, a black one for light.

    Examples
    --------
    >>> scale_card_pdf()[:5]
    b'%PDF-'
    """
    from reportlab.pdfgen.canvas import Canvas

    wide, tall = PAPER_MM[paper]
    out = io.BytesIO()
    # invariant: no date, so that the same card is the same file
    canvas = Canvas(out, pagesize=(wide * POINTS_PER_MM, tall * POINTS_PER_MM), invariant=1)
    canvas.setTitle("Scale card")
    canvas.setViewerPreference("PrintScaling", "None")
    for slices in ("dark", "light"):
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        canvas.translate(0.5 * wide, 0.5 * tall)
        _page(canvas, black=slices == "light", title=f"Scale card for {slices} slices")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _page(canvas: Canvas, *, black: bool, title: str) -> None:
    """Draw one page in mm about its middle."""
    x, y = FIELD_MM
    if black:
        grown = BLACK_MARGIN_MM
        canvas.setFillGray(0.0)
        canvas.rect(-x - grown, -y - grown, 2.0 * (x + grown), 2.0 * (y + grown), stroke=0, fill=1)
    else:
        canvas.setLineWidth(0.15)
        canvas.setStrokeGray(0.45)
        for sx in (-1.0, 1.0):
            for sy in (-1.0, 1.0):
                canvas.line(sx * (x + 1.5), sy * (y + 1.5), sx * (x - 6.0), sy * (y + 1.5))
                canvas.line(sx * (x + 1.5), sy * (y + 1.5), sx * (x + 1.5), sy * (y - 6.0))
    for place in MARKS_MM:
        for diameter, grey in ((RING_MM, 0.0), (HOLE_MM, 1.0), (DOT_MM, 0.0)):
            canvas.setFillGray(grey)
            canvas.circle(float(place[0]), float(place[1]), 0.5 * diameter, stroke=0, fill=1)
    canvas.setFillGray(0.0)
    canvas.setFont("Helvetica", 4.0)
    for letter, place in zip("AC", (CORNERS_MM[0], CORNERS_MM[1]), strict=True):
        canvas.drawCentredString(float(place[0]), float(place[1]) + 8.0, letter)
    canvas.drawCentredString(float(CORNERS_MM[3][0]), float(CORNERS_MM[3][1]) - 11.0, "B")
    canvas.setFont("Helvetica-Bold", 3.6)
    canvas.drawString(-30.0, HALF_HEIGHT_MM + 9.0, title)
    canvas.setFont("Helvetica", 2.6)
    for k, words in enumerate(WORDS):
        line = words.format(ab=A_TO_B_MM, ac=2.0 * HALF_WIDTH_MM)
        canvas.drawString(-74.0, -HALF_HEIGHT_MM - 10.0 - 3.6 * k, line)
