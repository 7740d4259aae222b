"""How do pictures from all sides become one that turns?"""

from __future__ import annotations

import io
from collections.abc import Sequence

SECONDS_ROUND = 6.0
"""How long one turn takes."""


def gif_of(frames: Sequence[bytes]) -> bytes:
    """Return an animated GIF of PNG pictures of one size, once round in six seconds and on again."""
    from PIL import Image

    pictures = []
    for frame in frames:
        with Image.open(io.BytesIO(frame)) as image:
            pictures.append(image.convert("RGB").quantize(colors=256, dither=Image.Dither.NONE))
    out = io.BytesIO()
    # a frame lasts whole hundredths of a second, and viewers slow down what is shorter than two
    lasts = max(20, 10 * round(100.0 * SECONDS_ROUND / len(pictures)))
    pictures[0].save(out, format="GIF", save_all=True, append_images=pictures[1:], duration=lasts, loop=0)
    return out.getvalue()
