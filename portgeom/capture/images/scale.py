"""Where in millimetres does a pixel lie?

One 3 x 3 matrix answers for every way of knowing the scale. Pixels are (column, row), the middle of the top
left one at 0, 0; millimetres are (x, y) with x to the picture's right and y to its top.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.capture.images.file import Picture
from portgeom.capture.images.resolution import LEAST_DPI, MOST_DPI
from portgeom.capture.images.unsure import Unsure
from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import MM_PER_IN

PLACING_PX = 1.0
"""How far off its middle a person puts a mark on a screen."""

LEAST_MARK_PX = 100.0
FILE_ERROR = 1.3e-4
"""PNG keeps whole pixels per metre: half of one at 100 dpi is this share of 3937."""

UNEVEN_DPI = 1.005
DIFFERENT_DPI = 1.01


@dataclass(frozen=True, slots=True)
class Scale:
    """How pixels become millimetres.

    Attributes
    ----------
    mm_from_px : (3, 3) float
        Takes (column, row, 1) to (x, y, 1) times a factor.
    words : str
        Where the scale comes from.
    error_ratio : float
        How far off the scale may be by what is known of it, as a share.
    field_px : (n, 2) float or None
        The only part of the picture where slices may lie, as corners; None for all of it.
    notes : tuple of str
        What a person should know about it.
    frame : str
        What x and y lie along: the "picture", or the "card" however the picture is turned.
    """

    mm_from_px: F64
    words: str
    error_ratio: float
    field_px: F64 | None = None
    notes: tuple[str, ...] = ()
    frame: str = "picture"

    def to_mm(self, points_px: F64) -> F64:
        """Return (n, 2) places in mm of pixels (n, 2)."""
        return project(self.mm_from_px, points_px)

    def to_px(self, points_mm: F64) -> F64:
        """Return (n, 2) pixels of places in mm (n, 2)."""
        return project(np.asarray(np.linalg.inv(self.mm_from_px), dtype=np.float64), points_mm)

    def mm_per_px(self, place_px: F64) -> float:
        """Return the side in mm of a square as large as the pixel at ``place_px`` (2,)."""
        steps = self.to_mm(place_px + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        right, down = steps[1] - steps[0], steps[2] - steps[0]
        return float(np.sqrt(abs(right[0] * down[1] - right[1] * down[0])))

    def times(self, factor: float, note: str) -> Scale:
        """Return the scale of a plane that shows ``1 / factor`` times as large, with a note on why."""
        grown = np.diag([factor, factor, 1.0]) @ self.mm_from_px
        return replace(self, mm_from_px=frozen(grown), notes=(*self.notes, note))


def project(matrix: F64, points: F64) -> F64:
    """Return points (n, 2) moved by a plane projective map (3, 3)."""
    whole = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return whole[:, :2] / whole[:, 2:]


def by_dpi(x_dpi: float, y_dpi: float, words: str, *, error_ratio: float = FILE_ERROR) -> Scale:
    """Return the scale of a picture of so many pixels to the inch.

    Examples
    --------
    >>> by_dpi(300.0, 300.0, "by --dpi").to_mm(np.array([[300.0, 0.0]])).round(3).tolist()
    [[25.4, 0.0]]
    """
    notes: tuple[str, ...] = ()
    if max(x_dpi, y_dpi) > UNEVEN_DPI * min(x_dpi, y_dpi):
        notes = (f"its pixels are not square: {x_dpi:.1f} dpi across, {y_dpi:.1f} down",)
    matrix = np.diag([MM_PER_IN / x_dpi, -MM_PER_IN / y_dpi, 1.0])
    return Scale(frozen(matrix), words, error_ratio, notes=notes)


def by_file(picture: Picture) -> Scale:
    """Return the scale that a picture's own file gives.

    Raises
    ------
    Unsure
        If it gives none that can be believed.
    """
    claim = picture.claim
    if claim.x_dpi is None or claim.y_dpi is None:
        raise Unsure(
            claim.words,
            "give --dpi, or two marks of known distance (--marks with --distance), or lay the slice on the printed "
            "scale card and say --card",
            about="scale",
        )
    even = f"{claim.x_dpi:.1f} dpi"
    return by_dpi(claim.x_dpi, claim.y_dpi, f"{even} from the file ({claim.words})")


def by_given_dpi(picture: Picture, dpi: float) -> Scale:
    """Return the scale of a picture whose resolution the person gives.

    Raises
    ------
    Unsure
        If no scan of a slice has it.
    """
    if not LEAST_DPI <= dpi <= MOST_DPI:
        raise Unsure(f"--dpi {dpi:g} is out of range", f"give from {LEAST_DPI:g} to {MOST_DPI:g}", about="scale")
    scale = by_dpi(dpi, dpi, f"{dpi:g} dpi as given", error_ratio=0.0)
    claimed = picture.claim.x_dpi
    if claimed is None or max(dpi, claimed) < DIFFERENT_DPI * min(dpi, claimed):
        return scale
    return replace(scale, notes=(*scale.notes, f"the file itself claims {claimed:.1f} dpi; the given one was taken"))


def by_marks(picture: Picture, first_px: F64, second_px: F64, distance_mm: float) -> Scale:
    """Return the scale of a picture in which two marks (2,) lie a known distance apart.

    Raises
    ------
    Unsure
        If a mark is not in the picture, or they are so near each other that the scale would be a guess.
    """
    for place in (first_px, second_px):
        if not (0.0 <= place[0] <= picture.width - 1 and 0.0 <= place[1] <= picture.height - 1):
            raise Unsure(
                f"the mark at {place[0]:g},{place[1]:g} is outside its {picture.width} x {picture.height} pixels",
                "give the marks in pixels, from the top left",
                about="scale",
            )
    apart = float(np.hypot(*(second_px - first_px)))
    if apart < LEAST_MARK_PX:
        raise Unsure(
            f"the marks lie {apart:.0f} pixels apart",
            f"take marks at least {LEAST_MARK_PX:g} pixels apart, as far as the picture allows",
            about="scale",
        )
    dpi = MM_PER_IN * apart / distance_mm
    error = np.sqrt(2.0) * PLACING_PX / apart
    note = "two marks cannot show whether the picture was taken square on: look down on it squarely"
    scale = by_dpi(dpi, dpi, f"{dpi:.1f} dpi from two marks", error_ratio=float(error))
    return replace(scale, notes=(*scale.notes, note))


def raised(scale: Scale, *, above_mm: float, lens_mm: float) -> Scale:
    """Return the scale of a face that lies above the plane the scale is of, nearer the lens.

    ``above_mm`` is its height over that plane and ``lens_mm`` the lens's, both square from it. Seen from one
    point, a plane parallel to the scale's shows everything larger by ``lens / (lens - above)``, tilted camera
    or not.
    """
    if not 0.0 <= above_mm < 0.5 * lens_mm:
        raise Unsure(
            f"a face {above_mm:g} mm above the card and a lens {lens_mm:g} mm above it do not go together",
            "give --above and --camera, both square from the card",
            about="scale",
        )
    factor = (lens_mm - above_mm) / lens_mm
    note = f"lengths were taken times {factor:.4f}: the face lies {above_mm:g} mm nearer the lens than the scale"
    return scale.times(factor, note)


def fit_projection(from_points: F64, to_points: F64) -> F64:
    """Return (3, 3), the plane projective map that takes (n, 2) points nearest to (n, 2) others, n at least 4.

    References
    ----------
    Hartley and Zisserman, Multiple View Geometry, 2nd ed., algorithm 4.2 (normalised direct linear transform).
    """
    there, back = _centred(from_points), _centred(to_points)
    a, b = project(there, from_points), project(back, to_points)
    one, zero = np.ones(len(a)), np.zeros((len(a), 3))
    whole = np.column_stack([a, one])
    rows = np.vstack([np.hstack([whole, zero, -b[:, :1] * whole]), np.hstack([zero, whole, -b[:, 1:] * whole])])
    matrix = np.linalg.inv(back) @ np.linalg.svd(rows)[2][-1].reshape(3, 3) @ there
    return matrix / matrix[2, 2]


def _centred(points: F64) -> F64:
    middle = points.mean(axis=0)
    size = np.sqrt(2.0) / float(np.hypot(*(points - middle).T).mean())
    return np.array([[size, 0.0, -size * middle[0]], [0.0, size, -size * middle[1]], [0.0, 0.0, 1.0]])
