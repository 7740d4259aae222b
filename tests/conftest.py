"""Ports made by hand: sections in, every answer out, without a job folder between."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import pytest

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Resolution
from portgeom.geometry.outline import Outline
from portgeom.job.values import Job, Limits, Line, Port, SectionTable, Stage, StationRow, Target
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.questions.whole import Answers, answers

Ask: TypeAlias = Callable[..., Answers]
GREY_IRON = 7.2
USUAL_LIMITS, USUAL_RESOLUTION = Limits(), Resolution()


def section_table(
    distance_mm: npt.ArrayLike | None,
    outlines: Sequence[Outline],
    *,
    pitch_deg: npt.ArrayLike | None = None,
    yaw_deg: npt.ArrayLike | None = None,
    roll_deg: npt.ArrayLike | None = None,
    place_mm: F64 | None = None,
    places: Sequence[str] | None = None,
) -> SectionTable:
    """Return a table of sections as the reader of a job would make it; None leaves the column out."""

    def column(values: npt.ArrayLike | None) -> list[float] | list[None]:
        if values is None:
            return [None] * len(outlines)
        return np.broadcast_to(np.asarray(values, dtype=float), len(outlines)).tolist()

    angles = zip(column(pitch_deg), column(yaw_deg), column(roll_deg), strict=True)
    rows = tuple(
        StationRow(
            station=str(i + 1),
            row=i + 2,
            distance_mm=s,
            pitch_deg=pitch,
            yaw_deg=yaw,
            roll_deg=roll,
            place_mm=None if place_mm is None else place_mm[i],
            place="" if places is None else places[i],
            outline=outline,
        )
        for i, (outline, s, (pitch, yaw, roll)) in enumerate(zip(outlines, column(distance_mm), angles, strict=True))
    )
    return SectionTable("sections.csv", rows)


def job_with(
    table: SectionTable,
    *later: SectionTable,
    target: Target | None = None,
    limits: Limits = USUAL_LIMITS,
    density_g_cc: float = GREY_IRON,
    **port: object,
) -> Job:
    """Return a job of one port, as cast by ``table`` and measured again by ``later``."""
    stages = [Stage("as cast", table), *(Stage(f"stage {k + 2}", t) for k, t in enumerate(later))]
    name = None if target is None else target.name
    kind = port.pop("kind", "intake")
    one = Port("1", kind, tuple(stages), target=name, **port)
    targets = () if target is None else (target,)
    return Job(Path(), "made by hand", "mm", "grey iron", density_g_cc, (one,), targets, limits=limits)


@pytest.fixture(scope="session")
def table_of() -> Callable[..., SectionTable]:
    """Return the function that makes a table of sections."""
    return section_table


@pytest.fixture(scope="session")
def job_of() -> Callable[..., Job]:
    """Return the function that makes a job of one port."""
    return job_with


@pytest.fixture(scope="session")
def lofted() -> Callable[..., LoftedPort]:
    """Return a function that lofts one port from distances and outlines."""

    def loft(
        distance_mm: npt.ArrayLike | None,
        outlines: Sequence[Outline],
        *,
        resolution: Resolution = USUAL_RESOLUTION,
        **table: object,
    ) -> LoftedPort:
        return loft_job(job_with(section_table(distance_mm, outlines, **table)), resolution=resolution)[0]

    return loft


@pytest.fixture(scope="session")
def ask() -> Ask:
    """Return a function that answers everything about a port of given sections.

    ``pitch_deg``, ``yaw_deg``, ``roll_deg``, ``place_mm`` and ``places`` go to the table; ``target``,
    ``limits``, ``density_g_cc`` to the job; the rest to the port.
    """

    def answer(
        distance_mm: npt.ArrayLike | None,
        outlines: Sequence[Outline],
        *,
        resolution: Resolution = USUAL_RESOLUTION,
        pitch_deg: npt.ArrayLike | None = None,
        yaw_deg: npt.ArrayLike | None = None,
        roll_deg: npt.ArrayLike | None = None,
        place_mm: F64 | None = None,
        places: Sequence[str] | None = None,
        **rest: object,
    ) -> Answers:
        table = section_table(
            distance_mm,
            outlines,
            pitch_deg=pitch_deg,
            yaw_deg=yaw_deg,
            roll_deg=roll_deg,
            place_mm=place_mm,
            places=places,
        )
        job = job_with(table, **rest)
        ports = loft_job(job, resolution=resolution)
        return answers(job, ports, ports[0], ports[0].stage(None))

    return answer


@pytest.fixture(scope="session")
def line() -> Callable[..., Line]:
    """Return a function that makes a line of rows: distance and value."""

    def rows(*pairs: tuple[float, float]) -> Line:
        return Line(np.array(pairs, dtype=float))

    return rows


@pytest.fixture(autouse=True)
def without_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let commands tell no intervals, which take a second each; tests of intervals ask for them."""
    monkeypatch.setenv("PORTGEOM_DRAWS", "0")
