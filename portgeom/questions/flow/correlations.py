"""What do published correlations say a bend, a contraction, a diffuser or a rough wall loses?

Each figure is what the `fluids` library returns for a method it names, and none is asked outside the range its
source gives, where the library would hold the input at the edge without a word. Coefficients multiply the dynamic
pressure: of the narrower end for contractions and diffusers.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

CAST_ROUGHNESS_MM = 0.26
"""Cast iron; F. M. White, Fluid Mechanics, table 6.1. A ground wall lies between this and smooth."""

SOURCES = {
    "Rennels": "Rennels and Hudson, Pipe Flow (2012)",
    "Crane": "Crane, Flow of Fluids, TP-410 (2009)",
    "Miller": "Miller, Internal Flow Systems (1990)",
    "Ito": "Ito, J. Basic Engineering 82 (1960)",
    "Hooper": "Hooper, Chemical Engineering 95 (1988)",
}
"""The published source of each method, by the library's name for it."""

NOT_ASKED = {
    "Swamee": "the library's own notes say that its bends match no other method, and its cones ignore the area ratio",
    "Idelchik": "its tables of cones end at area ratios further from 1 than a port's",
    "Blevins": "the library's own notes advise against it",
}
"""Methods of the library that are never asked, and why."""


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A loss coefficient by one method, friction in a bend of its own length taken off; ``raw`` is the library's."""

    method: str
    value: float
    raw: float


@dataclass(frozen=True, slots=True)
class Range:
    """Where a method's source has data: two sizes, what they are is up to the shape."""

    first: tuple[float, float]
    second: tuple[float, float]

    def holds(self, first: float, second: float) -> bool:
        """Return whether both sizes lie within."""
        return self.first[0] <= first <= self.first[1] and self.second[0] <= second <= self.second[1]


BENDS = {
    "Rennels": Range((0.0, 180.0), (0.5, 1e9)),
    "Crane": Range((60.0, 180.0), (1.0, 20.0)),
    "Miller": Range((10.0, 180.0), (0.5, 10.0)),
    "Ito": Range((45.0, 180.0), (1.0, 50.0)),
}
"""Turn in degrees, radius over diameter. Crane's rule counts in bends of 90 degrees and does not
go to 0 with the turn."""

CONTRACTIONS = {
    "Rennels": Range((1.0, 1e9), (0.0, 1e9)),
    "Crane": Range((1.0, 1e9), (0.0, 1e9)),
    "Hooper": Range((1.0, 1e9), (0.0, 1e9)),
    "Miller": Range((1.1, 4.0), (0.1, 10.0)),
}
"""Larger over smaller area, length over radius of the smaller end."""

DIFFUSERS = {
    "Rennels": Range((1.0, 1e9), (0.0, 1e9)),
    "Crane": Range((1.0, 1e9), (0.0, 1e9)),
    "Hooper": Range((1.0, 1e9), (0.0, 1e9)),
    "Miller": Range((1.1, 4.0), (0.1, 20.0)),
}
"""Larger over smaller area, length over radius of the smaller end."""


def friction_factors(reynolds: float, hydraulic_m: float) -> tuple[Coefficient, ...]:
    """Return Darcy friction factors: of a smooth wall and of one as cast."""
    from fluids.friction import friction_factor

    smooth = friction_factor(Re=reynolds, eD=0.0)
    cast = friction_factor(Re=reynolds, eD=1e-3 * CAST_ROUGHNESS_MM / hydraulic_m)
    return Coefficient("smooth", smooth, smooth), Coefficient("cast", cast, cast)


def bend_coefficients(
    hydraulic_m: float, turn_deg: float, radius_ratio: float, reynolds: float, *, roughness_m: float = 0.0
) -> tuple[Coefficient, ...]:
    """Return coefficients of a bend, the friction of a straight of its length taken off.

    The library's notes say that its coefficients hold that friction.
    """
    from math import radians

    from fluids.fittings import bend_rounded
    from fluids.friction import friction_factor

    along = friction_factor(Re=reynolds, eD=roughness_m / hydraulic_m) * radians(turn_deg) * radius_ratio

    def coefficient(method: str) -> Coefficient:
        raw = bend_rounded(
            Di=hydraulic_m,
            angle=turn_deg,
            bend_diameters=radius_ratio,
            Re=reynolds,
            roughness=roughness_m,
            method=method,
        )
        return Coefficient(method, max(0.0, raw - along), raw)

    return tuple(coefficient(m) for m, held in BENDS.items() if held.holds(turn_deg, radius_ratio))


def contraction_coefficients(
    large_m: float, small_m: float, length_m: float, reynolds: float
) -> tuple[Coefficient, ...]:
    """Return coefficients of a conical contraction, without the friction along it."""
    from fluids.fittings import contraction_conical

    return _cones(contraction_conical, CONTRACTIONS, large_m, small_m, small_m, large_m, length_m, reynolds)


def diffuser_coefficients(small_m: float, large_m: float, length_m: float, reynolds: float) -> tuple[Coefficient, ...]:
    """Return coefficients of a conical diffuser, without the friction along it."""
    from fluids.fittings import diffuser_conical

    return _cones(diffuser_conical, DIFFUSERS, small_m, large_m, small_m, large_m, length_m, reynolds)


def _cones(
    ask: Callable[..., float],
    ranges: dict[str, Range],
    first_m: float,
    second_m: float,
    small_m: float,
    large_m: float,
    length_m: float,
    reynolds: float,
) -> tuple[Coefficient, ...]:
    found = []
    for method, held in ranges.items():
        if held.holds((large_m / small_m) ** 2, length_m / (0.5 * small_m)):
            # a friction factor of 0 leaves the friction along the cone out of Rennels' formula
            more = {"fd": 0.0} if method == "Rennels" else {}
            raw = float(ask(Di1=first_m, Di2=second_m, l=length_m, Re=reynolds, method=method, **more))
            found.append(Coefficient(method, max(0.0, raw), raw))
    return tuple(found)
