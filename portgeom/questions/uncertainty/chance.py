"""Where do the draws' random numbers come from, so that they are the same every time and everywhere?"""

from __future__ import annotations

from zlib import crc32

import numpy as np

from portgeom.geometry.arrays import F64

SEED = 20101
"""Used where the person names none."""


def stream(seed: int, *names: str) -> np.random.Generator:
    """Return a stream of chance that depends only on the seed and the names."""
    words = [crc32(name.encode("utf-8")) for name in names]
    return np.random.default_rng(np.random.SeedSequence([seed, *words]))


def normals(seed: int, *names: str, shape: tuple[int, ...]) -> F64:
    """Return standard normal draws that depend only on the seed and the names.

    So a port has the same draws whatever other ports are asked about at the same time.
    """
    return stream(seed, *names).standard_normal(shape)
