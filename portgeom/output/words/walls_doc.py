"""What does the metal behind the walls read like, at the bench and to a program?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.job.values import Port
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.output.words.json_doc import Json, Numbers
from portgeom.output.words.shown import Shown, oclock
from portgeom.output.words.tables import table
from portgeom.output.words.text import heading
from portgeom.questions.shape.places import BenchScale, bench_scale
from portgeom.questions.walls.cautions import Caution, cautions
from portgeom.questions.walls.readings import KNOWN_WITHIN_MM
from portgeom.questions.walls.walls import WANDER_MM, Wall, WallAt, Walls


def walls_json(results: Sequence[Walls], n: Numbers) -> dict[str, Json]:
    """Return the entry of ``walls``: every hazard behind every surface, and what has to be told."""
    return {
        "walls": [wall_json(w, n) for r in results for w in r.walls],
        "warnings": [_caution_json(c, n) for r in results for c in cautions(r)],
    }


def wall_json(wall: Wall, n: Numbers) -> dict[str, Json]:
    """Return one wall. Areas that cannot be known are null: no limit, or a mesh that is not closed."""
    thread = wall.thread
    entry: dict[str, Json] = {
        "hazard": wall.hazard,
        "stage": wall.state,
        "least": place_json(wall.least, n),
        "thin_area": n.area(wall.thin_area_mm2),
        "open_area": n.area(wall.open_area_mm2),
        "verdict": wall.verdict,
        "min_wall": None if wall.behind.limit_mm is None else n.length(wall.behind.limit_mm),
        "open_allowed": wall.behind.hazard.open_allowed,
    }
    if thread is not None:
        entry["thread"] = {"length": n.length(thread.length_mm), "left": n.length(thread.left_mm)}
        entry["thread_wall"] = n.length(thread.wall_mm)
    if wall.behind.readings is not None:
        away = np.nan if wall.least is None else wall.least.reading_away_mm
        entry["nearest_reading"] = n.length(away)
    return entry


def place_json(at: WallAt | None, n: Numbers) -> Json:
    """Return a wall and its place, null for none."""
    if at is None:
        return None
    return {
        "distance": n.length(at.distance_mm),
        "clock": round(at.clock_deg, 1) % 360.0,
        "wall": n.length(at.wall_mm),
    }


def _caution_json(caution: Caution, n: Numbers) -> Json:
    stretch = caution.stretch
    return {
        "kind": caution.kind,
        "hazard": caution.wall.hazard,
        "stage": caution.wall.state,
        "at": place_json(caution.at, n),
        "from": None if stretch is None else n.length(stretch.from_mm),
        "to": None if stretch is None else n.length(stretch.to_mm),
    }


def walls_text(port: LoftedPort, stage: LoftedStage, results: Sequence[Walls], shown: Shown) -> str:
    """Return the metal behind the walls of a port: a table for all surfaces, then what to do about each.

    ``results`` begin with the surface now and end with the one wanted. Of those between only walls that
    changed are listed, and put into words where they are not enough.
    """
    if not results or not results[0].walls:
        return (
            f"{heading(port, stage)}: the job names nothing behind its walls. "
            "Add a [[hazard]] for every hole, pocket and water space near it."
        )
    units = shown.units
    head = [
        "behind the wall",
        "surface",
        f"least {units}",
        f"limit {units}",
        f"thin {units}2",
        f"open {units}2",
        "verdict",
    ]
    told_of = [w for each in zip(*(r.walls for r in results), strict=True) for w in told_walls(each, shown)]
    lines = [
        f"{heading(port, stage)}: metal behind the walls",
        table(head, [wall_row(w, shown) for w in told_of], left=2),
    ]
    if len(results) > 2:
        lines.append("  (a pass that is not listed left that wall as it was)")
    listed = {(w.hazard, w.state) for w in told_of}
    for k, result in enumerate(results):
        scale = bench_scale(result.surface)
        between = 0 < k < len(results) - 1
        told = [
            wall_words(w, now, port.port, scale, shown)
            for now, w in zip(results[0].walls, result.walls, strict=True)
            if not between or (w.alarms and (w.hazard, w.state) in listed)
        ]
        if not between:
            told += [f"caution: {caution_words(c, port.port, scale, shown)}" for c in cautions(result)]
        if told:
            lines.append(f"{result.state[:1].upper()}{result.state[1:]}:")
            lines += [f"  {words}" for words in told]
    return "\n".join(lines)


def told_walls(each: Sequence[Wall], shown: Shown) -> list[Wall]:
    """Return the walls to one hazard that are worth a line: the first, the last, and those that changed."""
    told = list(each[:1])
    for wall in each[1:-1]:
        if wall_row(wall, shown)[2:] != wall_row(told[-1], shown)[2:]:
            told.append(wall)
    return told + list(each[1:][-1:])


def wall_row(wall: Wall, shown: Shown) -> list[str]:
    """Return a wall as cells: hazard, surface, least, limit, thin and open area, verdict."""
    limit = wall.behind.limit_mm
    return [
        wall.hazard,
        wall.state,
        "-" if wall.least is None else shown.number(wall.least.wall_mm),
        "-" if limit is None else shown.number(limit),
        "-" if np.isnan(wall.thin_area_mm2) else shown.area_number(wall.thin_area_mm2),
        "-" if np.isnan(wall.open_area_mm2) else shown.area_number(wall.open_area_mm2),
        wall.verdict,
    ]


def wall_words(wall: Wall, now: Wall, port: Port, scale: BenchScale, shown: Shown) -> str:
    """Return one wall in words: how much, where, and what to do next. ``now`` is the same before cutting."""
    least, thread = wall.least, wall.thread
    if least is None:
        return f"{wall.hazard}: no reading is near; take readings behind the walls that will be cut"
    if least.wall_mm <= 0.0:
        words = f"{wall.hazard}: open, {shown.length(-least.wall_mm)} past its edge at {_at(least, port, scale, shown)}"
    else:
        words = f"{wall.hazard}: {shown.length(least.wall_mm)} left at {_at(least, port, scale, shown)}"
    if thread is not None and shown.number(thread.wall_mm) != shown.number(least.wall_mm):
        words += f", {shown.length(thread.wall_mm)} to its thread"
    if not np.isnan(least.reading_away_mm):
        words += f", the nearest reading {shown.length(least.reading_away_mm)} away"
    return f"{words}. {_next_step(wall, now, port, shown)}"


def _next_step(wall: Wall, now: Wall, port: Port, shown: Shown) -> str:
    least, limit = wall.least, wall.behind.limit_mm
    assert least is not None
    if wall.inside:
        return "Check its place in the job, and the port's position."
    if wall.verdict == "open":
        return _open_step(wall, now, port, shown)
    if wall.verdict == "thin":
        assert limit is not None
        short, area = shown.length(limit - least.wall_mm), shown.small_area(wall.thin_area_mm2)
        return f"Thin over {area}, {short} under the limit: {_less_there(wall, now, port, shown)}."
    if wall.unknown:
        return f"Metal comes off over {shown.length(KNOWN_WITHIN_MM)} from any reading: read the wall there too."
    if limit is None:
        return "Give min_wall in the job to have it judged."
    return f"Enough: {shown.length(max(0.0, least.wall_mm - limit))} over the limit of {shown.length(limit)}."


def _open_step(wall: Wall, now: Wall, port: Port, shown: Shown) -> str:
    area = "" if np.isnan(wall.open_area_mm2) else f", {shown.small_area(wall.open_area_mm2)} to seal"
    if wall.behind.hazard.open_allowed:
        return f"It may be opened{area}."
    return f"Not allowed: {_less_there(wall, now, port, shown)}; or plan to seal it and say open_allowed = true{area}."


def _less_there(wall: Wall, now: Wall, port: Port, shown: Shown) -> str:
    """Return how to keep a wall at its limit: leave alone what is thin already, else cut so much less."""
    least = wall.least
    assert least is not None
    if wall.behind.hazard.open_allowed:
        return "it may be opened"
    if now.verdict in ("thin", "open"):
        return "so it is now, take nothing off there" if wall is now else "take nothing off there"
    less = shown.length(wall.behind.stop_mm - least.wall_mm)
    quarter = round(least.clock_deg / 90.0) % 4
    side = ("roof", port.right_wall, "floor", port.left_wall)[quarter]
    return f"stop {less} sooner at the {side} there, as the stop depths say"


def caution_words(caution: Caution, port: Port, scale: BenchScale, shown: Shown) -> str:
    """Return a caution in words, with its place and what to do."""
    wall, at, name = caution.wall, caution.at, caution.wall.hazard
    where = "" if at is None else _at(at, port, scale, shown)
    if caution.kind == "hardly any metal":
        floor = wall.behind.floor_mm
        return (
            f"under {shown.length(floor)} of metal to {name} at {where}: castings shift by as much; "
            "read the wall there before cutting"
        )
    if caution.kind == "interrupted cut":
        stretch = caution.stretch
        assert stretch is not None
        return (
            f"the cutter runs over the opened {name} from {shown.place(stretch.from_mm, scale)} to "
            f"{shown.place(stretch.to_mm, scale)}: it will catch on the edge; light cuts, both hands"
        )
    if caution.kind == "thread left":
        thread = wall.thread
        assert thread is not None
        return (
            f"{shown.length(thread.left_mm)} of the {shown.length(thread.length_mm)} of thread in {name} is left "
            "unbroken, from where it starts: check that the bolt still holds, and that it ends short of the port"
        )
    if caution.kind == "wander":
        assert at is not None
        return (
            f"{name} is {shown.length(at.wall_mm)} behind the side at {where}: a cutter that wanders "
            f"{shown.length(WANDER_MM)} leaves less than {shown.length(wall.behind.stop_mm)}"
        )
    if caution.kind == "in the passage":
        return f"{name} lies in the passage itself: its place in the job, or the port's position, cannot be right"
    if caution.kind == "no inside":
        return f"the mesh of {name} is not closed: walls to it are told, but not whether it is opened"
    return f"the mesh of {name} was inside out and has been turned"


def _at(at: WallAt, port: Port, scale: BenchScale, shown: Shown) -> str:
    return f"{shown.place(at.distance_mm, scale)}, {oclock(at.clock_deg, port)}"
