"""Which readings would a person bring home from the bench for an invented pair of intake ports?

Writes the two section tables of ``workshop-pair`` and the traced outlines of port 2. The port is invented:
every section is a rectangle with rounded corners, made to lean and ripple a little as castings do, and in
port 2 a boss of closed form hangs from the roof. Nothing is drawn at random, so running it again gives the
same bytes.

    python examples/make_workshop_pair.py [folder]
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from math import pi
from pathlib import Path

import numpy as np
import numpy.typing as npt

FOLDER = Path(__file__).parent / "workshop-pair"

BOSS_AT_MM = 42.0
BOSS_ACROSS_MM = -0.2
BOSS_HEIGHT_MM = 5.6
BOSS_HALF_LENGTH_MM = 14.5
BOSS_HALF_WIDTH_MM = 11.6
TRACED_POINTS = 120
RIPPLE_MM = 0.06


@dataclass(frozen=True, slots=True)
class Section:
    """One section as it was cast, in mm and degrees: its plane, and the rounded rectangle seen in it."""

    distance: float
    pitch: float
    yaw: float
    width: float
    height: float
    crown: float  # height of the roof above the path
    radius_top: float
    radius_bottom: float
    place: str = ""


PORT_1 = (
    #       distance pitch yaw   width height crown top   bottom
    Section(0.0, 3.0, 0.0, 41.5, 49.9, 24.5, 11.0, 11.0, "face"),
    Section(12.0, 3.0, 0.0, 38.8, 49.1, 24.42, 11.0, 11.0),
    Section(24.0, 3.5, 0.0, 36.7, 48.7, 24.31, 11.2, 11.2),
    Section(33.0, 4.5, 0.0, 36.5, 47.8, 24.21, 11.5, 11.5),
    Section(42.0, 5.5, 0.0, 35.7, 47.6, 24.1, 11.5, 11.5, "pinch"),
    Section(53.0, 8.5, 0.0, 36.2, 47.5, 23.93, 11.6, 12.0),
    Section(64.0, 14.0, 0.0, 37.0, 47.5, 23.77, 12.0, 13.0),
    Section(76.0, 26.0, 0.0, 39.6, 47.1, 23.6, 13.5, 15.0, "turn"),
    Section(90.0, 46.5, 0.0, 44.5, 46.9, 23.4, 18.0, 18.5),
    Section(104.0, 67.0, 0.0, 50.6, 46.4, 23.2, 23.2, 23.2, "bowl"),
    Section(113.0, 76.0, 0.0, 48.6, 46.2, 23.05, 23.1, 23.1),
    Section(122.0, 80.0, 0.0, 46.0, 46.0, 23.0, 23.0, 23.0, "throat"),
)

PORT_2 = (
    #       distance pitch yaw   width height crown top   bottom
    Section(0.0, 3.0, 0.0, 41.6, 49.8, 24.5, 11.0, 11.0, "face"),
    Section(12.0, 3.0, 0.0, 38.6, 49.2, 24.42, 11.0, 11.0),
    Section(22.0, 3.5, 0.0, 36.9, 48.6, 24.33, 11.2, 11.2),
    Section(30.0, 4.0, -11.0, 36.4, 48.1, 24.25, 11.4, 11.4),
    Section(36.0, 4.5, -12.0, 36.2, 47.8, 24.18, 11.5, 11.5),
    Section(42.0, 5.5, 0.0, 35.9, 47.6, 24.1, 11.5, 11.5, "pinch"),
    Section(48.0, 7.0, 12.0, 35.9, 47.5, 24.01, 11.5, 11.6),
    Section(54.0, 9.0, 9.5, 36.0, 47.4, 23.92, 11.6, 12.0),
    Section(64.0, 14.0, 0.0, 37.1, 47.3, 23.77, 12.0, 13.0),
    Section(76.0, 26.0, 0.0, 39.5, 47.2, 23.6, 13.5, 15.0, "turn"),
    Section(90.0, 46.5, 0.0, 44.5, 46.8, 23.4, 18.0, 18.5),
    Section(104.0, 67.0, 0.0, 48.8, 46.4, 23.2, 21.0, 21.0, "bowl"),
    Section(113.0, 76.0, 0.0, 48.0, 46.1, 23.05, 22.4, 22.4),
    Section(122.0, 80.0, 0.0, 46.0, 46.0, 23.0, 23.0, 23.0, "throat"),
)


def files() -> dict[str, str]:
    """Return the text of every file this script writes, by its path in the job folder."""
    made = {"port-1-cast.csv": gauge_table(PORT_1), "port-2-cast.csv": traced_table(PORT_2)}
    for number, section in enumerate(PORT_2, start=1):
        rows = ["u,v"] + [f"{u:.2f},{v:.2f}" for u, v in trace(section)]
        made[traced_name(number)] = "\n".join(rows) + "\n"
    return made


def gauge_table(sections: tuple[Section, ...]) -> str:
    """Return a section table of plain shapes, as telescopic gauge and radius gauges give them."""
    rows = ["station,distance,pitch,shape,width,height,radius_top,radius_bottom,up,place"]
    for number, s in enumerate(sections, start=1):
        up = f"{s.crown - 0.5 * s.height:.2f}"
        if s.radius_top < 0.5 * s.height:
            sizes = f"rectangle,{s.width},{s.height},{s.radius_top},{s.radius_bottom}"
        elif s.width > s.height:
            sizes = f"obround,{s.width},{s.height},,"
        else:
            sizes = f"circle,{s.width},,,"
        rows.append(f"{number},{s.distance},{s.pitch},{sizes},{up},{s.place}")
    return "\n".join(rows) + "\n"


def traced_table(sections: tuple[Section, ...]) -> str:
    """Return a section table that names a traced outline for every station."""
    rows = ["station,distance,pitch,yaw,shape,outline,place"]
    for number, s in enumerate(sections, start=1):
        rows.append(f"{number},{s.distance},{s.pitch},{s.yaw},outline,{traced_name(number)},{s.place}")
    return "\n".join(rows) + "\n"


def traced_name(number: int) -> str:
    """Return the file of one station's outline."""
    return f"port-2/station-{number:02d}.csv"


def trace(section: Section) -> npt.NDArray[np.float64]:
    """Return (n, 2), the outline of one section with its boss, anticlockwise from the right wall."""
    curve = cast_by_hand(rounded_rectangle(section), section)
    roof = curve[:, 1] > section.crown - 0.5 * section.height
    hang = boss(section.distance, curve[:, 0] - BOSS_ACROSS_MM)
    curve = curve - np.column_stack([np.zeros(len(curve)), np.where(roof, hang, 0.0)])
    return evenly(curve, TRACED_POINTS)


def boss(distance: float, across: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return how far the boss hangs below the roof: height (1 - r2)^1.5 inside its elliptic foot."""
    along = (distance - BOSS_AT_MM) / BOSS_HALF_LENGTH_MM
    r2 = along**2 + (across / BOSS_HALF_WIDTH_MM) ** 2
    return BOSS_HEIGHT_MM * np.clip(1.0 - r2, 0.0, None) ** 1.5


def rounded_rectangle(section: Section) -> npt.NDArray[np.float64]:
    """Return (n, 2), the plain shape of a section, from the middle of its right wall."""
    right, top = 0.5 * section.width, section.crown
    bottom = top - section.height
    above, below = section.radius_top, section.radius_bottom
    quarter = np.linspace(0.0, 0.5 * pi, 200)
    corners = [
        (right - above, top - above, above, 0.0),
        (above - right, top - above, above, 0.5 * pi),
        (below - right, bottom + below, below, pi),
        (right - below, bottom + below, below, 1.5 * pi),
    ]
    pieces = [
        np.column_stack([u + r * np.cos(start + quarter), v + r * np.sin(start + quarter)])
        for u, v, r, start in corners
    ]
    start = np.array([[right, 0.5 * (top + bottom)]])
    return evenly(np.vstack([start, *pieces]), 2400)


def cast_by_hand(curve: npt.NDArray[np.float64], section: Section) -> npt.NDArray[np.float64]:
    """Return the curve leaning and rippled by some tenths, less so towards the bored throat."""
    rough = 1.0 - (section.distance / PORT_2[-1].distance) ** 4
    middle = np.array([0.0, section.crown - 0.5 * section.height])
    u, v = (curve - middle).T
    lean = rough * 0.008 * np.sin(0.045 * section.distance + 0.6)
    angle = np.arctan2(v, u)
    ripple = np.zeros(len(curve))
    for waves in (2, 3, 5):
        # phases a golden section apart, so that neighbouring stations do not ripple alike
        phase = 2.0 * pi * 0.618034 * (waves * section.distance + waves)
        ripple += RIPPLE_MM / waves * np.cos(waves * angle + phase)
    outward = np.column_stack([np.cos(angle), np.sin(angle)])
    leaning = np.column_stack([u + lean * v, v])
    return middle + leaning + rough * ripple[:, None] * outward


def evenly(curve: npt.NDArray[np.float64], count: int) -> npt.NDArray[np.float64]:
    """Return ``count`` points at even steps round a closed curve, from its first point."""
    closed = np.vstack([curve, curve[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0.0, along[-1], count, endpoint=False)
    return np.column_stack([np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])])


def main(folder: Path) -> None:
    """Write every file under ``folder``."""
    write(files(), folder)


def write(texts: dict[str, str], folder: Path) -> None:
    """Write texts by their names under ``folder``, the same bytes on every system."""
    for name, text in texts.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
