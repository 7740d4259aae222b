"""Where are the marks of the printed scale card, and where do they lie in a picture?"""

from __future__ import annotations

from portgeom.capture.image_file import Picture
from portgeom.capture.scale import Scale


def by_card(picture: Picture, *, distance_mm: float | None = None) -> Scale:
    """Return the scale of a picture that shows the printed scale card."""
    raise NotImplementedError
