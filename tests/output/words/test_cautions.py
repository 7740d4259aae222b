"""The cautions name every danger that whoever cuts a port must be told of."""

from __future__ import annotations

import pytest

from portgeom.output.words.cautions import CAUTIONS


@pytest.mark.parametrize(
    "danger",
    [
        "aluminium dust",
        "iron",
        "lungs",
        "Eyes",
        "hand grinder",
        "rated speed",
        "guards",
        "water, oil",
        "threaded",
        "readings decide",
        "qualified engine machinist",
        "law",
    ],
)
def test_danger_is_named(danger):
    assert any(danger in f"{c.about} {c.words}" for c in CAUTIONS)
