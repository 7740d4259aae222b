"""How do arrays of numbers travel in a page: small, exact enough, and never mistaken for words or markup?"""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.words.markup import Html

MOST = 65535
"""The greatest code of a length."""

CODES = 254
"""The greatest code of a shade; one more says that there is none."""

NONE = 255

Json: TypeAlias = "str | int | float | bool | list[Json] | dict[str, Json] | None"


@dataclass(frozen=True, slots=True)
class Lengths:
    """Lengths from zero up as 16-bit codes: each is ``step`` times its code, off by half a step at most."""

    step: float
    data: str


def lengths(values: F64, most: float) -> Lengths:
    """Return lengths packed, none over ``most``."""
    step = most / MOST if most > 0.0 else 1.0
    return Lengths(step, data_url(np.round(values / step).astype("<u2").tobytes()))


def shades(values: F64, low: float, high: float) -> str:
    """Return values packed to a byte each: CODES + 1 steps from ``low`` to ``high``, clipped; NONE where NaN."""
    span = high - low if high > low else 1.0
    known = np.isfinite(values) | np.isinf(values)
    share = np.clip((np.where(known, values, low) - low) / span, 0.0, 1.0)
    return data_url(np.where(known, np.round(CODES * share), NONE).astype("u1").tobytes())


def floats(values: F64) -> str:
    """Return values packed as 32-bit floats."""
    return data_url(np.ascontiguousarray(values, dtype="<f4").tobytes())


def data_url(data: bytes) -> str:
    """Return bytes as a data URL, so that what looks for words in the page can tell it from them."""
    return f"data:;base64,{base64.b64encode(data).decode('ascii')}"


def json_block(name: str, value: Json) -> Html:
    """Return a value as a block of data that a page's script reads by its id; nothing in it can end the block."""
    words = json.dumps(value, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    safe = words.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")
    return Html(f'<script type="application/json" id="{name}">{safe}</script>')
