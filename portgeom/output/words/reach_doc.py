"""What does it read like which cutters get to the metal, at the bench and to a program?"""

from __future__ import annotations

import math
from collections.abc import Sequence

from portgeom.job.values import Port
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.output.words.json_doc import Json, Numbers, cc
from portgeom.output.words.shown import Shown, oclock
from portgeom.output.words.tables import table
from portgeom.output.words.text import heading
from portgeom.output.words.vibration_doc import CAUTION, cutter_vibration_json, cutter_vibration_words
from portgeom.questions.reach.corners import TightCorner
from portgeom.questions.reach.openings import SideIn
from portgeom.questions.reach.patches import Patch
from portgeom.questions.reach.reach import Cause, CutterReach, Hindrance, Left, Reach, SideReach, Stopped
from portgeom.questions.reach.trial import RAMP_MM
from portgeom.questions.shape.places import BenchScale, bench_scale

LEAST_MM3 = 50.0
"""Less metal than this is not spoken of: it prints as nothing."""

FROM: dict[SideIn, str] = {"entry": "from the face", "seat": "from the seat"}


def reach_text(port: LoftedPort, stage: LoftedStage, result: Reach, shown: Shown, *, target: str) -> str:
    """Return what each cutter gets to, what it needs for that, and what stays out of reach."""
    lead = f"{heading(port, stage)} to {target}"
    if result.volume_mm3 <= 0.0:
        return f"{lead}: nothing is to come off."
    scale = bench_scale(stage.surface)
    head = [
        "cutter",
        "from the face",
        "from the seat",
        "either",
        f"stick-out from the nearer, {shown.units}",
        "tool has",
    ]
    rows = reach_rows(result, shown)
    lines = [
        f"{lead}: share of the {shown.volume(result.volume_mm3)} to come off that a straight tool line reaches",
        table(head, rows),
    ]
    for cutter in result.cutters:
        lines += _cutter_lines(cutter, port.port, scale, shown)
    lines += none_lines(result, port.port, scale, shown)
    lines.append(method_words(result, shown))
    if any(c.cutter.vibration_m_s2 is not None for c in result.cutters):
        lines.append(CAUTION)
    return "\n".join(lines)


def reach_rows(result: Reach, shown: Shown) -> list[list[str]]:
    """Return a row a cutter: its name, shares reached from the face, the seat and either, stick-out, and its reach."""
    return [
        [
            c.cutter.name,
            whole_percent(c.entry.share),
            whole_percent(c.seat.share),
            whole_percent(c.either_share),
            length_or_dash(c.stick_out_mm, shown),
            shown.number(c.cutter.reach_mm),
        ]
        for c in result.cutters
    ]


def method_words(result: Reach, shown: Shown) -> str:
    """Return what reached and not reached mean, and how far off it may be."""
    near = shown.length(RAMP_MM)
    return (
        f"Reached is proven by a clear line; not reached means that none of {result.lines} straight lines to the "
        f"place is clear, so another may be. {result.places.count} places asked. The shank keeps "
        f"{shown.length(result.clearance_mm)} from the metal, less within {near} of the head; between samples it "
        f"may come {shown.length(result.sway_mm)} nearer, and the head may stand {shown.length(result.fit_mm)} into "
        "the wall unseen. Stick-out is measured along the tool from its tip to the plane of the opening: the "
        "holder's nose comes on top. Nothing but the port and the guide's boss is taken to be in the way, and how "
        "the head is led in is not looked at."
    )


def cause_words(hindrance: Hindrance) -> str:
    """Return in words what keeps a cutter from a place."""
    lip = "the shank rubs the lip of the face" if hindrance.side == "entry" else "the shank rubs the seat"
    words: dict[Cause, str] = {
        "tool too short": "a line is clear, but the tool is too short",
        "lip": lip,
        "guide": "the guide's boss covers it or is in the way",
        "cutter too wide": "the cutter is too wide to get in there",
        "wall": "no line is clear of the walls",
    }
    return words[hindrance.cause]


def _cutter_lines(c: CutterReach, port: Port, scale: BenchScale, shown: Shown) -> list[str]:
    lines = [f"  {c.cutter.name}:"]
    for side in (c.entry, c.seat):
        lines.append(f"    {side_words(side, c.cutter.reach_mm, shown)}")
        lines += [
            f"      {shown.volume(s.volume_mm3)} not: {cause_words(Hindrance(s.cause, side.side))}"
            for s in side.stopped
            if s.volume_mm3 >= LEAST_MM3
        ]
    for patch in told_patches(c.neither.patches):
        lines.append(f"    neither side reaches {patch_words(patch, port, scale, shown)}")
    lines += [f"    {corner_words(t, c, port, scale, shown)}" for t in c.corners]
    if c.cutter.vibration_m_s2 is not None:
        lines.append(f"    {cutter_vibration_words(c.cutter.vibration_m_s2)}")
    return lines


def side_words(side: SideReach, reach_mm: float, shown: Shown) -> str:
    """Return what a cutter reaches from one side, and the stick-out it needs for that."""
    words = f"{FROM[side.side]} {whole_percent(side.share)} percent"
    error = math.ceil(100.0 * side.share_error)
    if error:
        words += f", give or take {error}"
    if math.isnan(side.longest_mm):
        return f"{words}; no line is clear"
    words += (
        f"; clear lines need up to {shown.length(side.longest_mm)} of stick-out, 95 percent of that metal "
        f"{shown.length(side.usual_mm)}"
    )
    return f"{words}, and the tool has {shown.length(reach_mm)}" if side.longest_mm > reach_mm else words


def none_lines(result: Reach, port: Port, scale: BenchScale, shown: Shown) -> list[str]:
    """Return what no cutter of the job reaches, a patch a line."""
    none = result.none
    if none.volume_mm3 < LEAST_MM3:
        return ["Every place is reached by one cutter or another."]
    share = max(1, round(100.0 * none.share))
    patches = told_patches(none.patches)
    first = f"No cutter of the job reaches {shown.volume(none.volume_mm3)}, {share} percent{ending(patches)}"
    return [first, *(f"  {patch_words(p, port, scale, shown)}" for p in patches)]


def ending(patches: Sequence[Patch[Hindrance]]) -> str:
    """Return how a sentence ends that patches may follow."""
    return ":" if patches else ", here and there in patches too small to name."


def told_patches(patches: Sequence[Patch[Hindrance]]) -> list[Patch[Hindrance]]:
    """Return the patches that are more than nothing once rounded."""
    return [p for p in patches if p.volume_mm3 >= LEAST_MM3]


def patch_words(patch: Patch[Hindrance], port: Port, scale: BenchScale, shown: Shown) -> str:
    """Return a patch in words: how much metal, from where to where, and what keeps the cutter away."""
    where = "all round" if patch.all_round else oclock(patch.clock_deg, port)
    first, last = (shown.place(at, scale) for at in (patch.from_mm, patch.to_mm))
    along = f"at {first}" if first == last else f"from {first} to {last}"
    return f"{shown.volume(patch.volume_mm3)} {along}, {where}: {cause_words(patch.why)}"


def corner_words(tight: TightCorner, c: CutterReach, port: Port, scale: BenchScale, shown: Shown) -> str:
    """Return a corner that is tighter than a cutter in words."""
    return (
        f"corner radius smaller than the cutter's {shown.length(0.5 * c.cutter.diameter_mm)} from "
        f"{shown.length(tight.from_mm)} to {shown.length(tight.to_mm)}: {shown.length(tight.radius_mm)} at "
        f"{shown.place(tight.distance_mm, scale)}, {oclock(tight.clock_deg, port)}"
    )


def whole_percent(share: float) -> str:
    """Return a share in whole percent; 100 only for all of it."""
    return f"{math.floor(100.0 * share + 1e-3):.0f}" if share > 0.5 else f"{math.ceil(100.0 * share - 1e-3):.0f}"


def length_or_dash(length_mm: float, shown: Shown) -> str:
    """Return a length without its unit; a dash for one that is not known."""
    return "-" if math.isnan(length_mm) else shown.number(length_mm)


def reach_json(result: Reach, n: Numbers) -> dict[str, Json]:
    """Return the entry of ``reach``, without port and stage."""
    return {
        "volume_cc": cc(result.volume_mm3),
        "places": result.places.count,
        "lines": result.lines,
        "clearance": n.length(result.clearance_mm),
        "sway": n.length(result.sway_mm),
        "fit": n.length(result.fit_mm),
        "cutters": [_cutter_json(c, n) for c in result.cutters],
        "none": _left_json(result.none, n),
    }


def _cutter_json(c: CutterReach, n: Numbers) -> Json:
    return {
        "cutter": c.cutter.name,
        "reach": n.length(c.cutter.reach_mm),
        "radius": n.length(0.5 * c.cutter.diameter_mm),
        "entry": _side_json(c.entry, n),
        "seat": _side_json(c.seat, n),
        "either_share": round(c.either_share, 4),
        "stick_out": n.length(c.stick_out_mm),
        "neither": _left_json(c.neither, n),
        "tight_corners": [
            {
                "from": n.length(t.from_mm),
                "to": n.length(t.to_mm),
                "radius": n.length(t.radius_mm),
                "distance": n.length(t.distance_mm),
                "clock": round(t.clock_deg, 1),
            }
            for t in c.corners
        ],
        "vibration": cutter_vibration_json(c.cutter.vibration_m_s2),
    }


def _side_json(side: SideReach, n: Numbers) -> Json:
    return {
        "volume_cc": cc(side.volume_mm3),
        "share": round(side.share, 4),
        "share_error": round(side.share_error, 4),
        "stick_out": n.length(side.longest_mm),
        "stick_out_95": n.length(side.usual_mm),
        "stopped": [_stopped_json(s) for s in side.stopped],
    }


def _stopped_json(stopped: Stopped) -> Json:
    return {"cause": stopped.cause, "volume_cc": cc(stopped.volume_mm3)}


def _left_json(left: Left, n: Numbers) -> Json:
    return {
        "volume_cc": cc(left.volume_mm3),
        "share": round(left.share, 4),
        "patches": [
            {
                "from": n.length(p.from_mm),
                "to": n.length(p.to_mm),
                "clock": None if p.all_round else round(p.clock_deg, 1),
                "volume_cc": cc(p.volume_mm3),
                "cause": p.why.cause,
                "side": p.why.side,
            }
            for p in left.patches
        ],
    }
