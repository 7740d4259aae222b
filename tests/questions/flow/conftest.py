"""Ports of known size with air through them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import circle
from portgeom.job.flow_values import FlowReading, Stated
from portgeom.job.values import Job, SectionTable, Valve
from portgeom.model.lofted import loft_job
from portgeom.questions.flow.whole import FlowAnswers, FlowAsked, flow_answers, flow_state

VALVE = Valve("intake", 52.0, 46.0, 8.0, 45.0, 1.5)
EXHAUST_VALVE = replace(VALVE, kind="exhaust", head_diameter_mm=42.0, throat_diameter_mm=36.0)
TWENTY_EIGHT = Stated(28.0 * 249.08891, "pressure", "inH2O")


def cfm(amount: float) -> Stated:
    """Return a flow in cubic feet a minute."""
    return Stated(amount * 0.3048**3 / 60.0, "volume flow", "cfm")


def reading(lift_mm: float, rate_cfm: float, **more: object) -> FlowReading:
    """Return a reading of port 1 as cast at 28 inches of water."""
    given = {"port": "1", "stage": "as cast", "depression": TWENTY_EIGHT, **more}
    return FlowReading(lift_mm=lift_mm, rate=cfm(rate_cfm), **given)


@pytest.fixture(scope="session")
def flowing(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Callable[..., FlowAnswers]:
    """Return a function that answers everything on flow about a port of given sections.

    ``job`` replaces fields of the job, ``asked`` is what a person asks for, the rest goes to the table.
    """

    def answer(
        distance_mm: Sequence[float],
        outlines: Sequence[Outline],
        *,
        job: dict[str, object] | None = None,
        asked: FlowAsked | None = None,
        kind: str = "intake",
        port: dict[str, object] | None = None,
        **table: object,
    ) -> FlowAnswers:
        made = replace(job_of(table_of(distance_mm, outlines, **table), kind=kind, **(port or {})), **(job or {}))
        (lofted,) = loft_job(made)
        return flow_answers(made, flow_state(made, lofted, lofted.stages[0], asked or FlowAsked()))

    return answer


@pytest.fixture(scope="session")
def narrowing(flowing: Callable[..., FlowAnswers]) -> Callable[..., FlowAnswers]:
    """Return a function that answers a straight port, round, 50, 40 and 46 mm wide."""

    def answer(**more: object) -> FlowAnswers:
        return flowing([0.0, 40.0, 100.0], [circle(50.0), circle(40.0), circle(46.0)], **more)

    return answer


@pytest.fixture(scope="session")
def bent(flowing: Callable[..., FlowAnswers]) -> Callable[..., FlowAnswers]:
    """Return a function that answers a round pipe turned down through 90 degrees."""

    def answer(diameter_mm: float, radius_mm: float, *, stations: int = 10, **more: object) -> FlowAnswers:
        pitch = np.linspace(0.0, 90.0, stations)
        pipes = [circle(diameter_mm)] * stations
        return flowing(np.radians(pitch) * radius_mm, pipes, pitch_deg=pitch, **more)

    return answer
