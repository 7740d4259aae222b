"""What does a depth card show, whatever it is printed by: its marks, its depths as they are set, its picture?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.values import Side, Units
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.output.words.shown import SET_STEP, Shown
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.depth_card import CardMark
from portgeom.questions.cutting.side import side_grid

LETTERS = 3.4
"""Size of the letters in the picture, mm of the port."""

DEPTHS_HEAD = ("mark", "square from face", "along roof")
SIZES_HEAD = (
    "mark",
    "groove",
    "across",
    "width at the surface",
    "gauge to its bottom",
    "finish size",
    "left to the line",
)
LAST_WORDS = (
    "No depth is set beyond its STOP. Gauge at every mark while cutting; at STOP a wall behind is at its limit. The "
    "readings decide, not this card."
)


@dataclass(frozen=True, slots=True)
class Card:
    """One card: whose it is, the pass, and its marks."""

    port: LoftedPort
    stage: LoftedStage
    result: PassResult
    marks: tuple[CardMark, ...]

    def name(self) -> str:
        """Return what the card is headed with."""
        plan = self.result.plan
        return f"Port {self.port.port.name}, {self.stage.stage.name}: {plan.name}, {plan.side}"

    def how(self, units: Units) -> str:
        """Return how the card is read."""
        words = "inches" if units == "in" else units
        return (
            f"Cutter {self.result.plan.cutter.name}. All sizes in {words}. Set depth is below the metal as it was "
            f"before this pass, rounded down to {SET_STEP[units]:g}. Rows count from the left, looking in, deck down."
        )

    def row_numbers(self) -> list[int]:
        """Return the numbers of the grooves that have a depth at any mark."""
        return sorted({r.row for m in self.marks for r in m.rows})


def size_rows(card: Card, shown: Shown) -> list[list[str]]:
    """Return where each groove runs, how wide it is, and the sizes that tell depth once the ribs are gone."""
    rows = []
    for k, mark in enumerate(card.marks, 1):
        for r in mark.rows:
            sizes = (shown.number(x) for x in (r.width_mm, r.opposite_mm, r.finish_mm, r.left_mm))
            rows.append([str(k), str(r.row), _across(r.across_mm, card.result.plan.side, shown), *sizes])
    return rows


def _across(across_mm: float, side: Side, shown: Shown) -> str:
    """Return a place across in words: a sign is easily overlooked."""
    number = shown.number(abs(across_mm))
    if not number.strip("0."):
        return number
    ways = ("right", "left") if side in ("roof", "floor") else ("above", "below")
    return f"{number} {ways[0] if across_mm > 0.0 else ways[1]}"


@dataclass(frozen=True, slots=True)
class CardLine:
    """A line of the picture, y downwards."""

    points: F64
    colour: str
    width: float
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class CardLabel:
    """Words of the picture."""

    place: tuple[float, float]
    words: str
    middle: bool


@dataclass(frozen=True, slots=True)
class CardPicture:
    """The side seen square on: its edges, grooves and numbered marks; the face at the left, y downwards, mm."""

    lines: tuple[CardLine, ...]
    labels: tuple[CardLabel, ...]
    low: tuple[float, float]
    high: tuple[float, float]
    words: str


def card_picture(card: Card, shown: Shown) -> CardPicture:
    """Return the picture of a card."""
    chart, plan = card.result.after.chart, card.result.plan
    last = int(np.searchsorted(chart.distance_mm, max(m.distance_mm for m in card.marks) + 15.0))
    s = chart.distance_mm[:last]
    grid = np.array([0.0, 1.0])
    span = side_grid(list(card.result.after.points_mm[:last]), plan.side, grid).span_mm
    # left looking in is drawn at the top, as one sees it with the face at the left
    sign = -1.0 if plan.side in ("floor", "right") else 1.0
    top, bottom = sign * span[:, 0], sign * span[:, 1]
    low, high = float(min(top.min(), bottom.min())), float(max(top.max(), bottom.max()))
    lines = [CardLine(np.column_stack([s, edge]), "#111111", 0.5) for edge in (top, bottom)]
    for groove in card.result.grooves:
        runs = groove.runs[:last]
        if runs.any():
            along = np.column_stack([s[runs], sign * groove.along_mm[:last][runs]])
            lines.append(CardLine(along, "#b35806", 1.4))
    labels = []
    for k, mark in enumerate(card.marks, 1):
        at = mark.distance_mm
        lines.append(CardLine(np.array([[at, low], [at, high]]), "#111111", 0.3, dashed=True))
        labels.append(CardLabel((at, high + 4.0), str(k), middle=True))
    left, right = card.port.port.left_wall, card.port.port.right_wall
    names = (left, right) if plan.side in ("roof", "floor") else ("up", "down")
    labels += [
        CardLabel((1.0, low - 1.5), names[0], middle=False),
        CardLabel((1.0, high + 8.5), names[1], middle=False),  # below the numbers of the marks
    ]
    return CardPicture(
        tuple(lines),
        tuple(labels),
        (-2.0, low - 5.0),
        (float(s[-1]) + 2.0, high + 10.5),
        f"{plan.side} with {len(card.marks)} marks, manifold face at the left",
    )
