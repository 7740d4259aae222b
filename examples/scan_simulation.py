"""What would a scanner or a camera make of shapes laid on a sheet?

Own optics, in linear light: outlines to area coverage of pixels, uneven lamps, blur, sRGB codes, grain. It shares
nothing with the tracer, so that what one gets wrong the other does not hide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SUB_ROWS = 8
"""Rows that each pixel is cut into; across a row the coverage is exact."""


@dataclass(frozen=True, slots=True)
class Optics:
    """How the picture is taken.

    Attributes
    ----------
    blur_px : float
        Standard deviation of the blur.
    uneven : float
        By what share the light falls off from its brightest place to the furthest corner.
    bright : (2,) float
        Where the light is brightest, as shares of width and height.
    noise : float
        Standard deviation of the grain, of the code's range.
    """

    blur_px: float = 1.2
    uneven: float = 0.3
    bright: tuple[float, float] = (0.4, 0.4)
    noise: float = 0.02


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed outline (n, 2) in mm on the sheet, y up, with how much light it gives back, from 0 to 1."""

    points_mm: Array
    reflects: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of paper with shapes on it, later ones over earlier ones. Its lower left corner is at 0, 0."""

    width_mm: float
    height_mm: float
    reflects: float
    shapes: Sequence[Shape] = field(default_factory=tuple)


def scan(sheet: Sheet, dpi: float, optics: Optics, seed: int) -> npt.NDArray[np.uint8]:
    """Return (h, w) codes of a flatbed scan of the whole sheet."""
    px = dpi / 25.4
    wide, tall = round(sheet.width_mm * px), round(sheet.height_mm * px)
    # row 0 is at the top; the middle of the top left pixel lies half a pixel in from both sides
    matrix = np.array([[px, 0.0, -0.5], [0.0, -px, sheet.height_mm * px - 0.5], [0.0, 0.0, 1.0]])
    return photograph(sheet, matrix, wide, tall, optics, seed)


def photograph(
    sheet: Sheet, px_from_mm: Array, wide: int, tall: int, optics: Optics, seed: int, *, around: float = 0.2
) -> npt.NDArray[np.uint8]:
    """Return (tall, wide) codes of a picture in which ``px_from_mm`` (3, 3) takes mm to column and row.

    ``around`` is what the table about the sheet reflects.
    """
    light = np.full((tall, wide), around)
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]) * [sheet.width_mm, sheet.height_mm]
    for shape in (Shape(corners, sheet.reflects), *sheet.shapes):
        points = _projected(px_from_mm, shape.points_mm)
        low = np.clip(np.floor(points.min(axis=0)).astype(int) - 1, 0, [wide, tall])
        high = np.clip(np.ceil(points.max(axis=0)).astype(int) + 2, low, [wide, tall])
        part = light[low[1] : high[1], low[0] : high[0]]
        if part.size:
            part += coverage(points - low, part.shape[1], part.shape[0]) * (shape.reflects - part)
    y, x = np.mgrid[:tall, :wide] / np.array([tall, wide]).reshape(2, 1, 1)
    away2 = (x - optics.bright[0]) ** 2 + (y - optics.bright[1]) ** 2
    # a lamp above: falls off as 1 / (1 + r2)2, which no polynomial is
    reach = 1.0 / np.sqrt(1.0 - optics.uneven) - 1.0
    light *= 1.0 / (1.0 + reach * away2 / away2.max()) ** 2
    light = _blurred(light, optics.blur_px)
    codes = _srgb(np.clip(light, 0.0, 1.0))
    codes += np.random.default_rng(seed).normal(0.0, optics.noise, codes.shape)
    return np.clip(np.round(255.0 * codes), 0, 255).astype(np.uint8)


def camera(
    middle_mm: Sequence[float],
    wide: int,
    tall: int,
    *,
    px_per_mm: float,
    lens_mm: float,
    tilt_deg: float,
    towards_deg: float,
    turn_deg: float = 0.0,
    above_mm: float = 0.0,
) -> Array:
    """Return (3, 3), from mm on the sheet to column and row as a pinhole camera sees it.

    It looks at ``middle_mm``, which lies in the picture's middle, from ``lens_mm`` away, leaning ``tilt_deg`` from
    square towards ``towards_deg``, turned ``turn_deg`` about its own axis. Places ``above_mm`` over the sheet are
    seen by a matrix of their own.
    """
    tilt, towards, turn = np.radians([tilt_deg, towards_deg, turn_deg])
    axis = np.array([np.cos(towards), np.sin(towards), 0.0])
    cross = np.array([[0.0, 0.0, axis[1]], [0.0, 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    lean = np.eye(3) + np.sin(tilt) * cross + (1.0 - np.cos(tilt)) * cross @ cross
    spin = np.array([[np.cos(turn), -np.sin(turn), 0.0], [np.sin(turn), np.cos(turn), 0.0], [0.0, 0.0, 1.0]])
    # x right and y down in the picture, z away from the lens
    look = spin @ np.diag([1.0, -1.0, -1.0]) @ lean
    about = np.array([[1.0, 0.0, -middle_mm[0]], [0.0, 1.0, -middle_mm[1]], [0.0, 0.0, 1.0]])
    plane = np.column_stack([look[:, 0], look[:, 1], np.array([0.0, 0.0, lens_mm]) + above_mm * look[:, 2]])
    focal = px_per_mm * lens_mm
    inner = np.array([[focal, 0.0, 0.5 * (wide - 1)], [0.0, focal, 0.5 * (tall - 1)], [0.0, 0.0, 1.0]])
    return inner @ plane @ about


def coverage(points_px: Array, wide: int, tall: int) -> Array:
    """Return (tall, wide), what share of each pixel a polygon (n, 2) covers, even-odd.

    Pixel centres lie on whole numbers.
    """
    a = points_px + 0.5
    b = np.roll(a, -1, axis=0)
    up = a[:, 1] < b[:, 1]
    low, high = np.where(up[:, None], a, b), np.where(up[:, None], b, a)
    # the sub-rows whose middle each edge passes
    first = np.clip(np.ceil(low[:, 1] * SUB_ROWS - 0.5), 0, tall * SUB_ROWS).astype(int)
    last = np.clip(np.ceil(high[:, 1] * SUB_ROWS - 0.5), 0, tall * SUB_ROWS).astype(int)
    count = last - first
    edge = np.repeat(np.arange(len(a)), count)
    row = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    y = (row + 0.5) / SUB_ROWS
    slope = (high[edge] - low[edge])[:, 0] / (high[edge] - low[edge])[:, 1]
    x = np.clip(low[edge, 0] + slope * (y - low[edge, 1]), 0.0, wide)
    # from its crossing to the right everything changes side: by parts in the pixel crossed, wholly after it
    column = np.minimum(x.astype(int), wide - 1)
    part = x - column
    order = np.lexsort((x, row))
    sign = np.where(np.arange(len(order)) % 2 == 0, 1.0, -1.0)
    at = row[order] // SUB_ROWS * (wide + 1) + column[order]
    parts = sign * part[order] / SUB_ROWS
    step = np.bincount(at, sign / SUB_ROWS - parts, tall * (wide + 1)) + np.bincount(at + 1, parts, tall * (wide + 1))
    return np.cumsum(step.reshape(tall, wide + 1), axis=1)[:, :wide]


def dust(rng: np.random.Generator, count: int, width_mm: float, height_mm: float) -> list[Shape]:
    """Return specks of 0.1 to 0.4 mm strewn over a sheet, dark and light ones."""
    specks = []
    for _ in range(count):
        middle = rng.uniform([0.0, 0.0], [width_mm, height_mm])
        angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 7))
        radius = 0.5 * rng.uniform(0.1, 0.4) * rng.uniform(0.7, 1.0, 7)
        points = middle + np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
        specks.append(Shape(points, float(rng.choice([0.1, 0.8]))))
    return specks


def disc(x_mm: float, y_mm: float, diameter_mm: float) -> Array:
    """Return (n, 2), a circle."""
    angle = np.linspace(0.0, 2.0 * np.pi, 96, endpoint=False)
    return np.array([x_mm, y_mm]) + 0.5 * diameter_mm * np.column_stack([np.cos(angle), np.sin(angle)])


def cast_section(rng: np.random.Generator, smallest_mm: float, largest_mm: float) -> Array:
    """Return (n, 2), an outline such as castings have, about its centroid: rounded, rippled, a boss in the roof."""
    wide, tall = rng.uniform(smallest_mm, largest_mm, 2)
    power = rng.uniform(2.0, 5.0)
    angle = np.linspace(0.0, 2.0 * np.pi, 1200, endpoint=False)
    across, up = np.abs(2.0 * np.cos(angle) / wide) ** power, np.abs(2.0 * np.sin(angle) / tall) ** power
    radius = (across + up) ** (-1.0 / power)
    for waves in range(2, 7):
        radius += rng.normal(0.0, 0.25 / waves) * np.cos(waves * angle + rng.uniform(0.0, 2.0 * np.pi))
    points = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    boss = rng.uniform(0.0, 0.1 * tall) * np.clip(1.0 - (points[:, 0] / (0.25 * wide)) ** 2, 0.0, None) ** 1.5
    points[:, 1] -= np.where(points[:, 1] > 0.0, boss, 0.0)
    return points - centroid(points)


def centroid(points: Array) -> Array:
    """Return (2,) the centroid of a polygon (n, 2)."""
    following = np.roll(points, -1, axis=0)
    cross = points[:, 0] * following[:, 1] - following[:, 0] * points[:, 1]
    return ((points + following) * cross[:, None]).sum(axis=0) / (3.0 * cross.sum())


def _projected(matrix: Array, points: Array) -> Array:
    whole = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return whole[:, :2] / whole[:, 2:]


def _blurred(light: Array, sigma_px: float) -> Array:
    """Return light blurred by a Gaussian, in frequencies; the rim is mirrored."""
    pad = int(np.ceil(4.0 * sigma_px)) + 1
    # up to a whole number of 32s, whose transforms are quick
    more = [(pad, pad + -(n + 2 * pad) % 32) for n in light.shape]
    wide = np.pad(light, more, mode="reflect")
    rows, columns = np.fft.fftfreq(wide.shape[0]), np.fft.rfftfreq(wide.shape[1])
    damp = np.exp(-2.0 * (np.pi * sigma_px) ** 2 * (rows[:, None] ** 2 + columns**2))
    return np.fft.irfft2(np.fft.rfft2(wide) * damp, s=wide.shape)[
        pad : pad + light.shape[0], pad : pad + light.shape[1]
    ]


def _srgb(light: Array) -> Array:
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1.0 / 2.4) - 0.055)
