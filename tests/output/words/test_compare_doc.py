"""Volumes that would come off to match, in words."""

from __future__ import annotations

import pytest

from portgeom.output.words.compare_doc import hundredths_cc


@pytest.mark.parametrize(("volume_mm3", "told"), [(-1.2, "0.00"), (0.0, "0.00"), (2345.6, "2.35"), (-7.0, "-0.01")])
def test_nothing_to_come_off_has_no_sign(volume_mm3: float, told: str) -> None:
    assert hundredths_cc(volume_mm3) == told
