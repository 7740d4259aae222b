"""Why was a picture not traced?"""

from __future__ import annotations


class Unsure(ValueError):  # noqa: N818 - it says what the tracer is
    """A picture, or a slice in it, that cannot be traced with confidence: what was found, and what would help."""

    def __init__(self, found: str, mend: str, *, about: str = "picture") -> None:
        super().__init__(f"{found}; {mend}")
        self.found = found
        self.mend = mend
        self.about = about
