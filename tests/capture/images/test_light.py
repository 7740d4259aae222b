"""Codes become light by the published transfer function."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.capture.images.light import light


@pytest.mark.parametrize(
    ("code", "expected"),
    # IEC 61966-2-1: V / 12.92 up to 0.04045, else ((V + 0.055) / 1.055)^2.4; 188 is half the light, as is well known
    [(0, 0.0), (10, 10 / 255 / 12.92), (188, ((188 / 255 + 0.055) / 1.055) ** 2.4), (255, 1.0)],
)
def test_srgb_codes_become_light(code: int, expected: float) -> None:
    assert light(np.full((1, 1, 1), code, np.uint8), "grey", coding="srgb")[0, 0] == pytest.approx(expected, abs=1e-6)
    assert light(np.full((1, 1, 1), code * 257, np.uint16), "grey", coding="srgb")[0, 0] == pytest.approx(
        expected, abs=1e-6
    )


def test_code_188_is_half_the_light() -> None:
    assert light(np.full((1, 1, 1), 188, np.uint8), "grey", coding="srgb")[0, 0] == pytest.approx(0.5, abs=0.005)


def test_grey_of_colours_is_their_luminance_and_a_colour_is_itself() -> None:
    codes = np.array([[[255, 0, 0], [0, 255, 0], [0, 0, 255], [255, 255, 255]]], np.uint8)
    assert light(codes, "grey", coding="srgb")[0] == pytest.approx([0.2126, 0.7152, 0.0722, 1.0], abs=1e-6)
    assert light(codes, "green", coding="srgb")[0] == pytest.approx([0.0, 1.0, 0.0, 1.0])


def test_linear_codes_are_light_already() -> None:
    assert light(np.full((1, 1, 1), 51, np.uint8), "grey", coding="linear")[0, 0] == pytest.approx(0.2, abs=1e-6)
