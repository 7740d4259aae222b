"""What a PDF made here draws, read without any PDF program; and the example's template pieces."""

from __future__ import annotations

import base64
import re
import zlib
from collections.abc import Callable

import numpy as np
import pytest

from portgeom.output.paper.template_drawing import Drawn, drawn_piece
from portgeom.output.words.shown import Shown
from portgeom.output.words.template_words import template_words
from portgeom.questions.templates.pieces import PIECE_KINDS, Piece, section_pieces
from portgeom.questions.templates.roof_piece import roof_piece
from portgeom.questions.templates.sections import stations


def page_streams(pdf: bytes) -> list[str]:
    """Return what is drawn on every page, in the PDF's own words."""
    found = []
    for head, data in re.findall(rb"<<([^<>]*)>>\s*stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        if b"ASCII85" in head:
            drawn = zlib.decompress(base64.a85decode(b"<~" + data.strip(), adobe=True))
            if re.search(rb"\n2\.83\d+ 0 0 2\.83\d+ 0 0 cm\n", drawn):
                found.append(drawn.decode("latin-1"))
    return found


@pytest.fixture(scope="session")
def streams() -> Callable[[bytes], list[str]]:
    """Return the function that reads a PDF's pages."""
    return page_streams


@pytest.fixture(scope="session")
def pieces(pair) -> tuple[Piece, ...]:  # type: ignore[no-untyped-def]
    """Return all pieces of port 2 of the example."""
    answer = pair.answers[1]
    sections = stations(answer.port, answer.stage, answer.wanted)
    strip = roof_piece(answer.port, answer.stage, answer.wanted, step_mm=10.0)
    return strip, *section_pieces(sections, PIECE_KINDS, allowance_mm=0.3)


@pytest.fixture(scope="session")
def drawn(pair, pieces: tuple[Piece, ...]) -> tuple[Drawn, ...]:  # type: ignore[no-untyped-def]
    """Return them as drawn."""
    answer = pair.answers[1]
    return tuple(drawn_piece(p, template_words(p, answer.port, answer.stage, Shown("mm"))) for p in pieces)


@pytest.fixture(scope="session")
def area_of() -> Callable[[np.ndarray], float]:
    """Return the shoelace formula (surveyors' formula; from memory), written apart from the program's own."""

    def shoelace(points: np.ndarray) -> float:
        x, y = points[:, 0], points[:, 1]
        return 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))

    return shoelace
