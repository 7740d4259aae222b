"""What would the scanner show of port 2 of ``workshop-pair``, moulded in silicone and sliced?

Writes the scans of ``workshop-traced`` and its section table. Each slice is the outline of one station, shrunk as
silicone does, lying on the face that was towards the port's entry, so that the picture looks into the port; askew
by up to 5 degrees; with a hole where a wire along the path went through the mould and a dot of ink at its roof.
The scans have uneven light, blur, grain and dust.

    python examples/make_workshop_scans.py [folder]
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np
from PIL import Image
from scan_simulation import Array, Optics, Shape, Sheet, disc, dust, scan

HERE = Path(__file__).parent
PAIR = HERE / "workshop-pair"
FOLDER = HERE / "workshop-traced"

DPI = 200
SHRINK = 0.004
TILT_DEG = 5.0
COLUMNS, ROWS = 4, 2
CELL_MM = (60.0, 68.0)
SHEET, SILICONE, INK = 0.82, 0.16, 0.05
HOLE_MM, DOT_MM, DOT_ABOVE_MM = 1.6, 2.6, 4.0
SPECKS = 40
OPTICS = Optics(blur_px=0.8, uneven=0.35, bright=(0.3, 0.6), noise=0.012)
JPEG_QUALITY = 78


def stations() -> list[dict[str, str]]:
    """Return the rows of the pair's own table."""
    with (PAIR / "port-2-cast.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def outline(row: dict[str, str]) -> Array:
    """Return (n, 2), one station's outline."""
    return np.loadtxt(PAIR / row["outline"], delimiter=",", skiprows=1)


def table() -> str:
    """Return the section table of the traced job: the pair's, with the traced outlines in place of its own."""
    rows = ["station,distance,pitch,yaw,shape,outline,place"]
    for row in stations():
        name = f"traced/station-{int(row['station']):02d}.csv"
        rows.append(f"{row['station']},{row['distance']},{row['pitch']},{row['yaw']},outline,{name},{row['place']}")
    return "\n".join(rows) + "\n"


def sheets() -> list[Sheet]:
    """Return what lay on the glass, scan by scan, in reading order."""
    rng = np.random.default_rng(20)
    wide, tall = COLUMNS * CELL_MM[0], ROWS * CELL_MM[1]
    rows = stations()
    per_sheet = -(-len(rows) // 2)
    found = []
    for first in range(0, len(rows), per_sheet):
        shapes: list[Shape] = []
        for k, row in enumerate(rows[first : first + per_sheet]):
            cell = np.array([k % COLUMNS + 0.5, ROWS - k // COLUMNS - 0.5]) * CELL_MM
            shapes += laid(outline(row), cell + rng.uniform(-1.5, 1.5, 2), rng.uniform(-TILT_DEG, TILT_DEG))
        found.append(Sheet(wide, tall, SHEET, [*shapes, *dust(rng, SPECKS, wide, tall)]))
    return found


def laid(section: Array, middle: Array, tilt_deg: float) -> list[Shape]:
    """Return a slice as it lies in the middle of its place: itself, the hole in it and the dot at its roof."""
    tilt = np.radians(tilt_deg)
    turn = np.array([[np.cos(tilt), -np.sin(tilt)], [np.sin(tilt), np.cos(tilt)]])
    box = 0.5 * (section.min(axis=0) + section.max(axis=0))

    def lay(points: Array) -> Array:
        return ((1.0 - SHRINK) * points - box) @ turn.T + middle

    dot = disc(0.0, section[:, 1].max() + DOT_ABOVE_MM, DOT_MM)
    return [
        Shape(lay(section), SILICONE),
        Shape(lay(disc(0.0, 0.0, HOLE_MM)), SHEET),
        Shape(lay(dot), INK),
    ]


def main(folder: Path) -> None:
    """Write the scans and the table under ``folder``."""
    (folder / "scans").mkdir(parents=True, exist_ok=True)
    for number, sheet in enumerate(sheets(), start=1):
        picture = Image.fromarray(scan(sheet, DPI, OPTICS, seed=number))
        picture.save(folder / "scans" / f"mould-{number}.jpg", quality=JPEG_QUALITY, dpi=(DPI, DPI))
    (folder / "port-2-cast.csv").write_text(table(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
