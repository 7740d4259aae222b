"""Colours of walls turn at the limit and get lighter with the wall, also to eyes that see no hue."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from portgeom.output.charts.wall_scale import WallScale


def scale(*limits, units="mm"):
    return WallScale.over([SimpleNamespace(stop_mm=x) for x in limits], 15.0, units)


def lightness(walls, of):
    """Return the relative luminance (k,) of colours, WCAG 2.2."""
    colours, norm = of.colours()
    rgb = colours(norm(np.asarray(walls)))[:, :3]
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return linear @ (0.2126, 0.7152, 0.0722)


def test_more_metal_is_never_darker():
    assert (np.diff(lightness(np.linspace(0.0, 15.0, 300), scale(3.0))) >= -1e-3).all()


def test_under_and_over_the_limit_stand_apart_in_grey():
    under, over = lightness([2.9, 3.1], scale(3.0))
    # contrast of graphical objects, WCAG 2.2, criterion 1.4.11
    assert (over + 0.05) / (under + 0.05) > 2.5


def test_colours_turn_at_the_greatest_limit():
    assert scale(2.0, 3.5).limit == 3.5


def test_limit_is_marked_and_no_mark_crowds_it():
    assert scale(3.5).marks == (0.0, 3.5, 6.0, 9.0, 12.0, 15.0)
    assert scale(0.12 * 25.4, units="in").marks == pytest.approx((0.0, 0.12, 0.2, 0.3, 0.4, 0.5))


def test_opened_walls_are_the_darkest_and_thick_ones_the_lightest():
    dark = lightness([-1.0, 0.0, 15.0, 40.0], scale(3.0))
    assert dark[0] == dark[1] == dark.min()
    assert dark[2] == dark[3] == dark.max()


def test_a_limit_beyond_the_scale_still_leaves_colours_over_it():
    assert scale(20.0).limit < scale(20.0).high
