"""What lines and words does a template piece consist of, whatever it is drawn on: paper, SVG or DXF?

All in mm at full size, up towards the roof. Three layers: what is cut, what is only marked, and words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.output.paper.lettering import fitted, printable, width, wrapped
from portgeom.output.words.template_words import TemplateWords
from portgeom.questions.templates.pieces import Piece

Layer: TypeAlias = Literal["cut", "mark"]

PAD = 3.5
"""Free space round a piece, for the scissors."""

CAPTION, CAPTION_WIDE = 2.2, 46.0
"""Size of the letters under a piece, and the least width they get."""

LEAST_SIZE, INSIDE = 1.5, 2.5
"""Smallest letters that are written on a piece, and the usual ones."""

CROSS_MM = 2.5
ROOF_WIDE = 9.5
"""What the word beside the arrow takes to the right of it."""

ARROW_MM = 5.0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points (n, 2), on a layer."""

    layer: Layer
    points_mm: F64
    closed: bool = False
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Lettering:
    """One line of printable words: where it begins, or its middle, and the size of its letters."""

    place: tuple[float, float]
    words: str
    size: float
    middle: bool = True
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Drawn:
    """A piece with all that is drawn on it and under it; ``low`` and ``high`` (2,) hold all of it."""

    strokes: tuple[Stroke, ...]
    letters: tuple[Lettering, ...]
    low: F64
    high: F64

    @property
    def size_mm(self) -> F64:
        """Return width and height."""
        return self.high - self.low

    def moved(self, by: F64) -> Drawn:
        """Return it elsewhere."""
        return Drawn(
            tuple(Stroke(s.layer, frozen(s.points_mm + by), s.closed, s.dashed) for s in self.strokes),
            tuple(
                Lettering((t.place[0] + float(by[0]), t.place[1] + float(by[1])), t.words, t.size, t.middle, t.bold)
                for t in self.letters
            ),
            self.low + by,
            self.high + by,
        )


def drawn_piece(piece: Piece, words: TemplateWords) -> Drawn:
    """Return a piece with its marks, the words on it, and those beside it."""
    strokes = [Stroke("cut", piece.cut_mm, closed=True)]
    strokes += [Stroke("mark", line, dashed=True) for line in piece.also_mm]
    letters: list[Lettering] = []
    if piece.kind == "side":
        _mark_strip(piece, words, strokes, letters)
    else:
        _mark_section(piece, words, strokes, letters)
    low, high = piece.cut_mm.min(axis=0) - PAD, piece.cut_mm.max(axis=0) + PAD
    wide = max(float(high[0] - low[0]), CAPTION_WIDE)
    middle = 0.5 * float(low[0] + high[0])
    left, foot = middle - 0.5 * wide, float(low[1])
    for line in wrapped(printable(words.caption), CAPTION, wide - 2.0, most_lines=8):
        foot -= 1.35 * CAPTION
        letters.append(Lettering((left + 1.0, foot), line, CAPTION, middle=False))
    return Drawn(
        tuple(strokes),
        tuple(letters),
        np.array([left, foot - 1.5]),
        np.array([left + wide, float(high[1])]),
    )


def _mark_section(piece: Piece, words: TemplateWords, strokes: list[Stroke], letters: list[Lettering]) -> None:
    """Draw path mark, roof arrow, sides and words inside a section piece, as far as there is room."""
    cut = piece.cut_mm
    (low_u, low), (high_u, high) = cut.min(axis=0), cut.max(axis=0)
    u, v = piece.path_mm
    edge = v <= low + 0.5  # the path lies on the lower edge, or below it
    if not edge:
        strokes += [
            Stroke("mark", frozen([[u - CROSS_MM, v], [u + CROSS_MM, v]])),
            Stroke("mark", frozen([[u, v - CROSS_MM], [u, v + CROSS_MM]])),
        ]
    else:
        strokes.append(Stroke("mark", frozen([[u, low + 0.4], [u, low + CROSS_MM]])))
    middle = 0.5 * (low_u + high_u)
    long = min(ARROW_MM, 0.2 * (high - low))
    # under whatever hangs from the roof there
    over = [_chord(cut[:, ::-1], u)[1] for u in np.linspace(middle - 2.0, middle + ROOF_WIDE, 8)]
    for line in piece.also_mm:
        near = (line[:, 0] > middle - 3.0) & (line[:, 0] < middle + ROOF_WIDE + 1.0) & (line[:, 1] > v + 6.0)
        over += line[near, 1].tolist()
    top = min([high, *over]) - 0.05 * (high - low) - 0.8
    strokes += _arrow(middle, top, long)
    if high_u - low_u > 2.0 * ROOF_WIDE:
        letters.append(Lettering((middle + 5.2, top - 2.6), "ROOF", 2.2, bold=True))
    level = 0.5 * (low + v) if not edge and v - low > high - v else (0.5 * (v + high) if edge else v)
    _sides(cut, level if edge else v, words, letters)
    start = top - long - 0.6
    if edge:
        _stack(cut, middle, start, low + CROSS_MM + 0.3, words.inside, letters)
        return
    split = 2 if start - v > 9.0 else 0
    if split:
        _stack(cut, middle, start, v + CROSS_MM + 0.5, words.inside[:split], letters)
    _stack(cut, middle, v - CROSS_MM - 1.0, low + 1.5, words.inside[split:], letters)


def _arrow(u: float, top: float, long: float) -> list[Stroke]:
    """Return an arrow up to the roof."""
    foot, head = [u, top - long], [u, top]
    return [
        Stroke("mark", frozen([foot, head])),
        Stroke("mark", frozen([[u - 0.3 * long, top - 0.4 * long], head, [u + 0.3 * long, top - 0.4 * long]])),
    ]


def _sides(cut: F64, level: float, words: TemplateWords, letters: list[Lettering]) -> None:
    """Write a letter for each side just inside the edge."""
    ends = _chord(cut, level)
    if ends[1] - ends[0] > 14.0:
        letters.append(Lettering((float(ends[0]) + 3.2, level), words.left, 3.0, bold=True))
        letters.append(Lettering((float(ends[1]) - 3.2, level), words.right, 3.0, bold=True))


def _stack(
    cut: F64, u: float, top: float, foot: float, lines: Sequence[str], letters: list[Lettering]
) -> None:  # fmt: skip
    """Write lines one under another inside an outline, smaller where there is little room, fewer where too little."""
    lines = lines[: max(0, int((top - foot) / (1.3 * LEAST_SIZE)))]
    if not lines:
        return
    size = min(INSIDE, (top - foot) / (1.3 * len(lines)))
    v = top - 0.65 * size
    for line in lines:
        ends = np.array([_chord(cut, v - 0.6 * size), _chord(cut, v + 0.6 * size)])
        room = 2.0 * float(min(u - ends[:, 0].max(), ends[:, 1].min() - u)) - 2.0
        plain = printable(line)
        own = size
        while own > LEAST_SIZE and width(plain, own) > room:
            own *= 0.94
        shown = fitted(plain, own, room)
        if shown:
            letters.append(Lettering((u, v), shown, own))
        v -= 1.3 * size


def _chord(cut: F64, v: float) -> F64:
    """Return where an outline crosses a height, the outermost two; its middle twice where it does not."""
    start, end = cut, np.roll(cut, -1, axis=0)
    crosses = (start[:, 1] > v) != (end[:, 1] > v)
    if not crosses.any():
        middle = float(cut[:, 0].mean())
        return np.array([middle, middle])
    a, b = start[crosses], end[crosses]
    at = a[:, 0] + (b[:, 0] - a[:, 0]) * (v - a[:, 1]) / (b[:, 1] - a[:, 1])
    return np.array([at.min(), at.max()])


def _mark_strip(piece: Piece, words: TemplateWords, strokes: list[Stroke], letters: list[Lettering]) -> None:
    """Draw the ticks of a roof strip, the names of stations under theirs, and the words on its handle."""
    taken: list[F64] = []
    for tick in piece.ticks:
        strokes.append(Stroke("mark", tick.line_mm))
        into = tick.line_mm[1] - tick.line_mm[0]
        place = tick.line_mm[1] + 1.6 * into / np.linalg.norm(into)
        name = fitted(printable(tick.words), 1.8, 8.0)
        half = 0.5 * width(name, 1.8) + 0.6
        if name and all(abs(place[0] - t[0]) > half + t[1] or abs(place[1] - t[2]) > 2.2 for t in taken):
            letters.append(Lettering((float(place[0]), float(place[1])), name, 1.8))
            taken.append(np.array([place[0], half, place[1]]))
    left = float(piece.cut_mm[:, 0].min())
    handle = piece.cut_mm[piece.cut_mm[:, 0] <= -1.0]
    middle = 0.5 * float(handle[:, 1].min() + handle[:, 1].max())
    for k, line in enumerate(words.inside[:4]):
        shown = fitted(printable(line), 1.9, -left - 5.0)
        letters.append(Lettering((left + 2.0, middle + 3.4 - 2.6 * k), shown, 1.9, middle=False))
