"""Which cutters does a job have, and in which passes are they to be used?"""

from __future__ import annotations

from itertools import pairwise
from typing import cast

from portgeom.job.faults import nearest, shown
from portgeom.job.keys import Entry
from portgeom.job.values import CutPass, Cutter, PassKind, Side

GROOVES_ONLY = ("rows", "across")


def read_cutter(entry: Entry) -> Cutter | None:
    """Return a cutter, or None where something is wrong with it."""
    if not entry.complete:
        return None
    return Cutter(
        name=entry.text("name"),
        shape=entry.text("shape"),
        diameter_mm=entry.sure("diameter"),
        length_mm=entry.sure("length"),
        shank_mm=entry.sure("shank"),
        reach_mm=entry.sure("reach"),
        rate_cc_per_min=entry.number("rate_cc_per_min"),
        vibration_m_s2=entry.number("vibration"),
    )


def read_pass(entry: Entry, cutter_names: tuple[str, ...]) -> CutPass | None:
    """Return a pass, or None after taking down what is wrong with it."""
    cutter = entry.text("cutter")
    if cutter and cutter not in cutter_names:
        entry.spot("cutter").fault(
            f"{shown(cutter)} is not a [[cutter]] of this job", nearest(cutter, cutter_names, what="cutter")
        )
    _check_range(entry)
    _check_rows(entry)
    if not entry.complete:
        return None
    return CutPass(
        name=entry.text("name"),
        kind=cast("PassKind", entry.text("kind")),
        side=cast("Side", entry.text("side")),
        cutter=cutter,
        rows=entry.whole("rows"),
        across_mm=entry.numbers("across"),
        from_mm=entry.number("from"),
        to_mm=entry.number("to"),
        depth_mm=entry.number("depth"),
        leave_mm=entry.number("leave"),
        overshoot_mm=entry.number("overshoot"),
    )


def _check_range(entry: Entry) -> None:
    start, end = entry.number("from"), entry.number("to")
    if start is not None and end is not None and start >= end:
        entry.spot("to").fault("does not lie beyond from", "give the distances where the pass begins and ends")
    depth, leave = entry.number("depth"), entry.number("leave")
    if depth is not None and leave is not None and leave >= depth:
        entry.spot("leave").fault("is no less than depth: nothing would be cut", "leave less than is cut")


def _check_rows(entry: Entry) -> None:
    if entry.text("kind") in ("level", "blend"):
        for key in GROOVES_ONLY:
            if key in entry.given:
                entry.spot(key).fault("only grooves have rows", 'leave it out, or write kind = "grooves"')
    across, rows = entry.numbers("across"), entry.whole("rows")
    if across and rows is not None and len(across) != rows:
        entry.spot("rows").fault(f"is {rows} where across places {len(across)}", "make them agree, or give one")
    if any(b <= a for a, b in pairwise(across)):
        entry.spot("across").fault("does not rise", "list the rows from left to right, each once")
