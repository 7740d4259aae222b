"""What does the page's own script say, and by what does a browser know it?

The script lies in files beside this one, as it is read, and goes into the page as it is.
"""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from pathlib import Path

FILES = (
    "unpack.js",
    "words.js",
    "turning.js",
    "painter.js",
    "distance.js",
    "charts.js",
    "section.js",
    "view.js",
    "start.js",
)
"""In the order in which they build on each other."""


@cache
def script() -> str:
    """Return the script as one text, in a scope of its own."""
    folder = Path(__file__).with_name("script")
    parts = [(folder / name).read_text(encoding="utf-8") for name in FILES]
    return '(() => {\n"use strict";\n' + "\n".join(parts) + "})();\n"


def hash_of(text: str) -> str:
    """Return a text's hash as a content security policy names it: of exactly what stands between the tags."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
