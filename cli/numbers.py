"""Which number does an option hold?

The command line's own types take "nan" and "inf" for numbers; no measure is one of them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from typing import Any


class Finite(click.FloatRange):
    """A finite number, within bounds where there are any."""

    name = "float"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the number, or tell what an option holds in its place."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value} is not a finite number; write it in digits.", param, ctx)
        return number
