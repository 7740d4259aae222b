"""How is a target, or a pass, written so that it can be pasted into a job?"""

from __future__ import annotations

import json
from collections.abc import Sequence

from portgeom.geometry.arrays import F64
from portgeom.job.units import length_from_mm
from portgeom.job.values import CutPass, Target, Units

DIGITS: dict[Units, int] = {"mm": 3, "in": 5}
"""More than a proposal's own steps need, so that what is read back is what was proposed."""


def target_toml(target: Target, units: Units) -> str:
    """Return a ``[[target]]`` given by lines."""
    lines = ["[[target]]", f"name = {quoted(target.name)}"]
    if target.roof is not None:
        lines.append(f"{target.roof_kind} = {_rows(target.roof.rows, units)}")
    if target.corner_radius is not None:
        lines.append(f"roof_corner_radius = {_rows(target.corner_radius.rows, units)}")
    if target.widen is not None:
        lines.append(f"widen = {_rows(target.widen, units)}")
    if target.floor_line is not None:
        lines.append(f"floor_line = {_rows(target.floor_line.rows, units)}")
    return "\n".join(lines) + "\n"


def passes_toml(passes: Sequence[CutPass], units: Units) -> str:
    """Return ``[[pass]]`` tables."""
    blocks = []
    for one in passes:
        lines = ["[[pass]]"]
        lines += [f"{key} = {quoted(value)}" for key, value in _words(one)]
        for key, value in (("from", one.from_mm), ("to", one.to_mm)):
            if value is not None:
                lines.append(f"{key} = {_number(value, units)}")
        blocks.append("\n".join(lines) + "\n")
    return "\n".join(blocks)


def quoted(text: str) -> str:
    """Return text as a TOML string on one line.

    Examples
    --------
    >>> quoted('a "b"')
    '"a \\\\"b\\\\""'
    """
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _words(one: CutPass) -> list[tuple[str, str]]:
    return [("name", one.name), ("kind", one.kind), ("side", one.side), ("cutter", one.cutter)]


def _rows(rows: F64, units: Units) -> str:
    inner = [f"  [{', '.join(_number(float(x), units) for x in row)}]," for row in rows]
    return "\n".join(["[", *inner, "]"])


def _number(value_mm: float, units: Units) -> str:
    text = f"{length_from_mm(value_mm, units):.{DIGITS[units]}f}".rstrip("0")
    text = text + "0" if text.endswith(".") else text
    return "0.0" if text == "-0.0" else text
