"""An exhaust port against common practice: throat, growth to the face, floor."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import circle
from portgeom.job.values import Job, Limits, SectionTable, Valve
from portgeom.model.lofted import loft_job
from portgeom.questions.shape.profile import profile
from portgeom.questions.valve_job.exhaust import Exhaust, exhaust

VALVE = Valve("exhaust", 43.0, 38.0, 8.0, 45.0, 1.2)
S = np.linspace(0.0, 80.0, 5)


@pytest.fixture
def held(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Callable[..., Exhaust]:
    def make(cast: Sequence[Outline], now: Sequence[Outline] | None = None, valve: Valve | None = VALVE) -> Exhaust:
        job = job_of(table_of(S, cast), *([] if now is None else [table_of(S, now)]), kind="exhaust")
        port = loft_job(job)[0]
        stage = port.stage(None)
        taper = profile(port, stage, Limits()).taper
        assert taper.exhaust
        return exhaust(taper, valve, cast=port.cast.surface, now=stage.surface, to_mm=port.throat_mm)

    return make


def grown(share: float, throat: float = 38.0) -> list[Outline]:
    """Circles from the face to the throat whose area grows evenly to the face."""
    return [circle(throat * np.sqrt(a)) for a in np.linspace(share, 1.0, 5)]


@pytest.mark.parametrize(("share", "sound"), [(1.1, False), (1.16, True), (1.34, True), (1.4, False)])
def test_the_face_has_115_to_135_percent_of_the_throat(held: Callable[..., Exhaust], share: float, sound: bool) -> None:
    found = held(grown(share))
    assert found.face_percent == pytest.approx(100.0 * share, rel=1e-3)
    assert found.found is not sound


@pytest.mark.parametrize(("throat", "sound"), [(36.8, False), (37.2, True), (38.5, True), (38.9, False)])
def test_the_throat_has_86_to_90_percent_of_the_valve(held: Callable[..., Exhaust], throat: float, sound: bool) -> None:
    found = held(grown(1.25, throat))
    assert found.throat_percent == pytest.approx(100.0 * throat / 43.0, rel=1e-3)
    assert found.found is not sound
    assert held(grown(1.25, throat), valve=None).throat_percent is None


def test_a_floor_that_was_cut_is_not_kept_and_a_roof_that_was_is_no_matter(held: Callable[..., Exhaust]) -> None:
    cast = grown(1.2)
    lower = held(cast, [o.moved(0.0, -0.8) for o in cast])
    assert lower.floor_lower_mm == pytest.approx(0.8, abs=0.01)
    assert not lower.floor_kept
    assert lower.found
    higher = held(cast, [o.moved(0.0, 0.8) for o in cast])
    assert higher.floor_lower_mm == 0.0
    assert higher.floor_kept
