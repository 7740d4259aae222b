"""Which readings would a person bring home from the bench while the invented pair of ports is being cut?

Writes the section tables and traced outlines of ``workshop-stages``: the head of ``workshop-pair`` carried on. Port 2
was measured as cast, after the ribs were levelled, and finished; port 1 as cast and finished. The finished port 2
follows the target but for two places: a patch of its right wall was cut too far, and one low on its left wall was
left high. Readings carry noise from a seeded generator, so running it again gives the same bytes.

    python examples/make_workshop_stages.py [folder]
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import workshop_match
from make_workshop_pair import (
    BOSS_HEIGHT_MM,
    PORT_1,
    PORT_2,
    TRACED_POINTS,
    Section,
    cast_by_hand,
    evenly,
    gauge_table,
    rounded_rectangle,
    trace,
    write,
)

FOLDER = Path(__file__).parent / "workshop-stages"
Points = npt.NDArray[np.float64]

# the target of job.toml, in numbers
ROOF_LINE = np.array(
    [(0.0, 24.8), (14.0, 25.4), (30.0, 25.3), (42.0, 24.6), (54.0, 25.1), (66.0, 25.3), (78.0, 25.0), (94.0, 23.35)]
)
CORNER_RADIUS = np.array([(0.0, 9.5), (54.0, 9.5), (76.0, 13.5)])
WIDER_EACH_SIDE = np.array(
    [(0.0, 0.3), (12.0, 0.7), (22.0, 0.9), (42.0, 0.3), (60.0, 1.0), (80.0, 1.1), (104.0, 0.7), (118.0, 0.0)]
)

# what the depth card comes to: by distance, across and height above the path of each groove's bottom
GROOVE_BOTTOMS = {
    30.0: ((0.0, 24.29),),
    36.0: ((0.0, 22.56),),
    42.0: ((-8.8, 22.74), (0.0, 21.81), (8.8, 22.98)),
    48.0: ((-9.0, 23.55), (0.0, 22.49), (9.0, 23.75)),
    54.0: ((-9.3, 24.19), (0.0, 24.07), (9.3, 24.19)),
}
OVERSHOOT_MM, OVERSHOOT_SPREAD_MM = 0.58, 0.05  # the plan reckons with 0.4
LEVEL_CORNER_MM = 9.0

OVERCUT_AT_MM, OVERCUT_UP_MM, OVERCUT_DEPTH_MM, OVERCUT_HALF_MM = 46.5, 3.0, 0.6, (9.0, 8.0)
HIGH_AT_MM, HIGH_UP_MM, HIGH_MM, HIGH_HALF_MM = 68.0, -12.0, 0.55, (13.0, 9.0)

TRACE_NOISE_MM, GAUGE_NOISE_MM = 0.035, 0.05
SEED = 2


def files() -> dict[str, str]:
    """Return the text of every file this script writes, by its path in the job folder."""
    rng = np.random.default_rng(SEED)
    made = {"port-1-cast.csv": gauge_table(PORT_1), "port-1-finished.csv": finished_by_gauge(rng)}
    stages = {
        "cast": [trace(s) for s in PORT_2],
        "roughed": [noisy(levelled(trace(s), s, rng), rng) for s in PORT_2],
        "finished": [noisy(finished(s), rng) for s in PORT_2],
    }
    for stage, outlines in stages.items():
        made[f"port-2-{stage}.csv"] = traced_table(stage)
        for number, outline in enumerate(outlines, start=1):
            rows = ["u,v"] + [f"{u:.2f},{v:.2f}" for u, v in outline]
            made[traced_name(stage, number)] = "\n".join(rows) + "\n"
    return {**made, **workshop_match.files()}


def traced_table(stage: str) -> str:
    """Return the section table of a stage of port 2. The first one says how the planes stand."""
    first = stage == "cast"
    rows = ["station,distance,pitch,yaw,shape,outline,place" if first else "station,distance,shape,outline,place"]
    for number, s in enumerate(PORT_2, start=1):
        plane = f"{s.pitch},{s.yaw}," if first else ""
        rows.append(f"{number},{s.distance},{plane}outline,{traced_name(stage, number)},{s.place}")
    return "\n".join(rows) + "\n"


def traced_name(stage: str, number: int) -> str:
    """Return the file of one station's outline."""
    return f"port-2-{stage}/station-{number:02d}.csv"


def wanted(section: Section) -> Section:
    """Return a section as the target wants it: roof on its line, corners cut anew, walls moved out."""
    s = section.distance
    crown = float(np.interp(s, *ROOF_LINE.T)) if s <= ROOF_LINE[-1, 0] else section.crown
    radius = float(np.interp(s, *CORNER_RADIUS.T)) if s <= CORNER_RADIUS[-1, 0] else section.radius_top
    wider = float(np.interp(s, *WIDER_EACH_SIDE.T))
    return replace(
        section,
        crown=crown,
        height=section.height + crown - section.crown,
        width=section.width + 2.0 * wider,
        radius_top=min(radius, section.radius_top),
    )


def levelled(outline: Points, section: Section, rng: np.random.Generator) -> Points:
    """Return the outline once the ribs between the grooves are level, a little further below their bottoms than usual.

    The cutter runs level from the outermost groove and is led up out of it before the corner.
    """
    overshoot = rng.normal(OVERSHOOT_MM, OVERSHOOT_SPREAD_MM)
    if section.distance not in GROOVE_BOTTOMS:
        return outline
    rows, bottoms = np.array(GROOVE_BOTTOMS[section.distance]).T
    u, v = outline.T
    corner = np.clip(np.abs(u) - (0.5 * section.width - LEVEL_CORNER_MM), 0.0, LEVEL_CORNER_MM)
    roof = np.interp(u, rows, bottoms) + overshoot - LEVEL_CORNER_MM + np.sqrt(LEVEL_CORNER_MM**2 - corner**2)
    upper = (v > section.crown - 0.5 * section.radius_top - BOSS_HEIGHT_MM) & (corner < 0.6 * LEVEL_CORNER_MM)
    return np.column_stack([u, np.where(upper, np.maximum(v, roof), v)])


def finished(section: Section) -> Points:
    """Return the outline of a finished section of port 2, with the two places where it is not on the target."""
    aim = wanted(section)
    # it leans and ripples as the casting did, so that no metal grows
    curve = cast_by_hand(rounded_rectangle(aim), section)
    u, v = curve.T
    too_far = OVERCUT_DEPTH_MM * patch(section.distance - OVERCUT_AT_MM, v - OVERCUT_UP_MM, OVERCUT_HALF_MM)
    left = HIGH_MM * patch(section.distance - HIGH_AT_MM, v - HIGH_UP_MM, HIGH_HALF_MM)
    return evenly(np.column_stack([u + np.where(u > 0.0, too_far, left), v]), TRACED_POINTS)


def patch(along: float, up: Points, half: tuple[float, float]) -> Points:
    """Return a flat-topped hump of height 1 inside its elliptic foot."""
    r2 = (along / half[0]) ** 2 + (up / half[1]) ** 2
    return np.clip(1.0 - r2**2, 0.0, None)


def noisy(outline: Points, rng: np.random.Generator) -> Points:
    """Return an outline as it was traced again: a little larger or smaller, and waved."""
    middle = 0.5 * (outline.min(axis=0) + outline.max(axis=0))
    away = outline - middle
    angle = np.arctan2(away[:, 1], away[:, 0])
    off = np.full(len(outline), rng.normal(0.0, TRACE_NOISE_MM))
    for waves in (2, 3, 4, 6):
        off += rng.normal(0.0, TRACE_NOISE_MM) / waves * np.cos(waves * angle + rng.uniform(0.0, 2.0 * np.pi))
    return outline + off[:, None] * away / np.hypot(*away.T)[:, None]


def finished_by_gauge(rng: np.random.Generator) -> str:
    """Return the section table of the finished port 1, read to the twentieth of a millimetre."""
    rows = ["station,distance,shape,width,height,radius_top,radius_bottom,up,place"]
    for number, cast in enumerate(PORT_1, start=1):
        s = wanted(cast)
        width, height, crown = (
            round((size + rng.normal(0.0, GAUGE_NOISE_MM)) / 0.05) * 0.05 for size in (s.width, s.height, s.crown)
        )
        up = f"{crown - 0.5 * height:.2f}"
        if s.radius_top < 0.47 * min(width, height):
            sizes = f"rectangle,{width:.2f},{height:.2f},{s.radius_top:.1f},{s.radius_bottom:.1f}"
        elif abs(width - height) < 0.3:
            sizes = f"circle,{0.5 * (width + height):.2f},,,"
        else:
            sizes = f"obround,{width:.2f},{height:.2f},,"
        rows.append(f"{number},{cast.distance},{sizes},{up},{s.place}")
    return "\n".join(rows) + "\n"


def main(folder: Path) -> None:
    """Write every file under ``folder``."""
    write(files(), folder)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
