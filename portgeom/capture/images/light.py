"""How much light do a picture's codes stand for, and in which colour does the slice stand out?

Blur happens in light, and a scanner writes codes that are not in proportion to it: half way between the
codes of slice and paper lies 0.04 mm beside the edge. So everything is measured in light.
"""

from __future__ import annotations

from typing import Literal, TypeAlias, get_args

import numpy as np
import numpy.typing as npt

from portgeom.capture.images.file import Pixels

F32: TypeAlias = npt.NDArray[np.float32]
Coding: TypeAlias = Literal["srgb", "linear"]
Channel: TypeAlias = Literal["grey", "red", "green", "blue"]
CHANNELS: tuple[Channel, ...] = get_args(Channel)

LUMINANCE = (0.2126, 0.7152, 0.0722)
"""IEC 61966-2-1, of linear red, green and blue."""


def light(codes: Pixels, channel: Channel, *, coding: Coding) -> F32:
    """Return (h, w) light from 0 to 1 of codes (h, w, c).

    References
    ----------
    IEC 61966-2-1:1999, the sRGB transfer function.
    """
    table = _table(codes.dtype, coding)
    if codes.shape[2] == 1:
        return table[codes[..., 0]]
    if channel != "grey":
        return table[codes[..., CHANNELS.index(channel) - 1]]
    red, green, blue = (np.float32(w) * table for w in LUMINANCE)
    return red[codes[..., 0]] + green[codes[..., 1]] + blue[codes[..., 2]]


def _table(dtype: npt.DTypeLike, coding: Coding) -> F32:
    most = np.iinfo(np.dtype(dtype)).max
    code = np.arange(most + 1) / most
    if coding == "srgb":
        code = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    return code.astype(np.float32)
