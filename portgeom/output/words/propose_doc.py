"""What does a proposal read like, at the bench and to a program?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.job.values import Job
from portgeom.output.words.json_doc import Json, Numbers, cc, removal_json
from portgeom.output.words.shown import Shown, oclock, percent
from portgeom.output.words.tables import table
from portgeom.output.words.text import taper_lines
from portgeom.questions.propose.binding import AS_CAST, NO_MORE, Limit
from portgeom.questions.propose.propose import OwnTarget, PortProposal, Proposal
from portgeom.questions.propose.relief import Blame, Relief
from portgeom.questions.propose.rows import AREA, BOW, GROWTH, MATCH, MOST, NECK, SLOPE, TOO_LARGE, VOLUMES, WALL
from portgeom.questions.propose.runs import SIDES
from portgeom.questions.propose.tradeoff import Kink, TradeOff
from portgeom.questions.shape.places import bench_scale

KIND_WORDS = {
    AREA: "the area asked",
    TOO_LARGE: "the most area",
    NECK: "no neck",
    GROWTH: "the cone angle",
    BOW: "a straight roof",
    SLOPE: "the slope of a line",
    MATCH: "matching areas",
    VOLUMES: "matching volumes",
    "most roof": "your limit for the roof",
    "most side": "your limit for the sides",
    "most floor": "your limit for the floor",
}
"""What each kind of demand is called."""


def kind_words(kind: str) -> str:
    """Return what a demand is called.

    Examples
    --------
    >>> kind_words("wall: bolt hole")
    'the wall to bolt hole'
    """
    return f"the wall to {kind.removeprefix(WALL)}" if kind.startswith(WALL) else KIND_WORDS.get(kind, kind)


def short_kind(kind: str) -> str:
    """Return a demand in a word or two, as a table has room for.

    Examples
    --------
    >>> short_kind("wall: bolt hole"), short_kind("most side")
    ('bolt hole', 'your limit')
    """
    if kind.startswith(WALL):
        return kind.removeprefix(WALL)
    return "your limit" if kind in MOST.values() else kind_words(kind)


def by_words(relief: Relief, shown: Shown) -> str:
    """Return by how much a demand gives, in its own unit."""
    if relief.kind in (AREA, TOO_LARGE, NECK, MATCH):
        return percent(max(relief.by, 0.05))
    if relief.kind == GROWTH:
        return f"{relief.by:.1f} degrees"
    if relief.kind == VOLUMES:
        return f"{relief.by:.1f} cc"
    return shown.length(relief.by)


def blame_lines(blame: Blame, shown: Shown) -> list[str]:
    """Return what stands in the way and what was let go."""
    lines = ["Not all that is asked can be had together."]
    if blame.reliefs:
        lines.append("Any one of these, by giving so much, lets all the others be met:")
    lines += [f"  {relief_words(r, shown)}" for r in blame.reliefs]
    if not blame.reliefs:
        lines.append("No single demand is to blame: several would have to give.")
    lines.append("What follows is the best that can be had; walls never give. Let go for it:")
    lines += [f"  {relief_words(r, shown)}" for r in blame.taken] or ["  nothing"]
    return lines


def relief_words(relief: Relief, shown: Shown) -> str:
    """Return one demand that gives, by how much and where it is hardest to keep."""
    where = f", hardest at {shown.length(relief.where_mm)} in port {relief.port}" if relief.kind != VOLUMES else ""
    return f"{kind_words(relief.kind)}: {by_words(relief, shown)}{where}"


def proposal_text(job: Job, proposal: Proposal, shown: Shown) -> str:
    """Return a proposal in words, port by port."""
    names = [p.port.port.name for p in proposal.ports]
    total = sum(p.removal.volume_mm3 for p in proposal.ports)
    matched = proposal.found.problem.matched
    who = f"Port {names[0]}" if len(names) == 1 else f"Ports {' and '.join(names)}{', to match' if matched else ''}"
    lines = [f"{who}: {shown.volume(total)} to take off, the least that gives what is asked"]
    if proposal.found.blame is not None:
        lines += blame_lines(proposal.found.blame, shown)
    for one in proposal.ports:
        lines += ["", *port_lines(job, one, shown)]
    return "\n".join(lines)


def port_lines(job: Job, one: PortProposal, shown: Shown) -> list[str]:
    """Return what is proposed for one port."""
    scale = bench_scale(one.removal.after)
    by = one.removal.by_side
    port = one.port.port
    smallest = one.removal.smallest_after
    lines = [
        f"Port {port.name}, {one.stage.stage.name}, to target {one.target.name!r}: "
        f"{shown.volume(one.removal.volume_mm3)}, {one.removal.mass_g:.0f} g of {job.material}",
        f"  roof {shown.volume(by.roof)}, floor {shown.volume(by.floor)}, {port.left_wall} {shown.volume(by.left)}, "
        f"{port.right_wall} {shown.volume(by.right)}",
        f"  then {shown.volume(one.removal.volume_after_mm3)}, smallest flow area {shown.area(smallest.area_mm2)} at "
        f"{shown.place(smallest.distance_mm, scale)}",
        *(f"  {line}" for line in taper_lines(one.taper, scale, shown)),
        "",
        lines_table(one, shown),
    ]
    if one.own is not None:
        lines.insert(3, f"  its own target {port.target!r}: {own_words(one.own, shown)}")
    if one.walls.walls:
        lines += ["", walls_table(one, shown)]
    lines += [f"  {words}" for words in short_words(one, shown)]
    return lines


def own_words(own: OwnTarget, shown: Shown) -> str:
    """Return what the port's own target takes and leaves, to hold a proposal against."""
    words = f"{shown.volume(own.removal.volume_mm3)}, smallest flow area "
    words += shown.area(own.removal.smallest_after.area_mm2)
    thin = [w for w in own.walls.walls if w.alarms and w.least is not None]
    words += "".join(f", {shown.length(w.least.wall_mm)} to {w.hazard}" for w in thin if w.least is not None)
    return words


def lines_table(one: PortProposal, shown: Shown) -> str:
    """Return what comes off each side at each point, and what stops it there."""
    sides = [side for side in SIDES if any(x.side == side and x.by != AS_CAST for x in one.limits)]
    rows = []
    for at in sorted({limit.distance_mm for limit in one.limits}):
        here = {x.side: x for x in one.limits if x.distance_mm == at}
        depths = [depth_words(here[s].depth_mm, shown) if s in here else "-" for s in sides]
        rows.append([shown.number(at), limit_words(tuple(here.values())), *depths])
    return table([f"at {shown.units}", "what stops it", *sides], rows, left=2)


def depth_words(depth_mm: float, shown: Shown) -> str:
    """Return what comes off at a point of a line; where a roof line stops short of a boss, what it leaves of it."""
    number = shown.number(abs(depth_mm))
    return f"leaves {number}" if depth_mm < 0.0 and number.strip("0.") else number


def limit_words(limits: Sequence[Limit]) -> str:
    """Return what stops each side, as "roof: the wall to bolt hole"; "no more is asked" where nothing does."""
    told = [x for x in limits if x.by not in (NO_MORE, AS_CAST)]
    return "; ".join(f"{x.side}: {short_kind(x.by)}" for x in told) or NO_MORE


def walls_table(one: PortProposal, shown: Shown) -> str:
    """Return the walls once cut, with what the readings may be off."""
    rows = []
    for wall, known in zip(one.walls.walls, one.draws, strict=True):
        least, limit = wall.least, wall.behind.stop_mm
        if least is None:
            rows.append([wall.hazard, "-", shown.number(limit), "-", "-", "not known"])
            continue
        share = known.kept(least.wall_mm, limit)
        kept = "-" if np.isnan(share) else f"{100.0 * share:.0f}"
        rows.append(
            [
                wall.hazard,
                shown.number(least.wall_mm),
                shown.number(limit),
                shown.number(known.sd_mm),
                kept,
                oclock(least.clock_deg, one.port.port),
            ]
        )
    units = shown.units
    head = ["behind the wall", f"left {units}", "limit", "1 sd", "kept in % of draws", "where"]
    return table(head, rows)


def short_words(one: PortProposal, shown: Shown) -> list[str]:
    """Return what the lines of a target cannot mend: walls that are too thin already, floor corners too tight."""
    tight = [
        f"floor corners of {shown.length(c.radius_mm)} from {shown.length(c.from_mm)} to {shown.length(c.to_mm)} are "
        f"tighter than the smallest cutter's {shown.length(one.corners.cutter_radius_mm)}: some metal will stay in them"
        for c in one.corners.tight[:1]
    ]
    return tight + [
        f"the wall to {g.behind.hazard.name} lacks {shown.length(g.short_mm)} of its limit and margin as it is: "
        "nothing is taken off there; read its thickness, and measure the port better, before cutting near it"
        for g in one.model.gauges
        if g.short_mm > 0.005
    ]


def trade_lines(trade: TradeOff, shown: Shown) -> str:
    """Return the curve of smallest area against metal and wall, with its kinks named."""
    numbers: dict[int, int] = {}
    for kink in trade.kinks:
        numbers.setdefault(kink.point, len(numbers) + 1)
    rows: list[list[str]] = []
    for k, point in enumerate(trade.points):
        over = "-" if np.isinf(point.least_over_mm) else shown.number(point.least_over_mm)
        mark = str(numbers[k]) if k in numbers else ""
        asked = "yes" if k == trade.asked else ""
        rows.append([shown.area_number(point.smallest_mm2), shown.volume_number(point.removed_mm3), over, asked, mark])
    units = shown.units
    head = [f"smallest {units}2", "cc off", f"least wall over limit {units}", "asked for", "reached"]
    text = table(head, rows, left=0).split("\n")
    text += [f"  {numbers[kink.point]}: {kink_words(kink, shown)}" for kink in trade.kinks]
    ends = ", ".join(kind_words(kind) for kind in trade.ends)
    tail = [f"  No further: at their limits are {ends}."] if ends else []
    return "\n".join(["What a larger smallest area costs:", *text, *tail])


def kink_words(kink: Kink, shown: Shown) -> str:
    """Return what is reached at a kink, and where."""
    return f"{kind_words(kink.kind)}, port {kink.port} at {shown.length(kink.where_mm)}"


def port_proposal_json(one: PortProposal, n: Numbers) -> dict[str, Json]:
    """Return the entry of one port."""
    target = one.target
    return {
        "port": one.port.port.name,
        "stage": one.stage.stage.name,
        "target": {
            "name": target.name,
            "roof_line": [] if target.roof is None else [n.lengths(r) for r in target.roof.rows],
            "roof_corner_radius": None
            if target.corner_radius is None
            else [n.lengths(r) for r in target.corner_radius.rows],
            "widen": [] if target.widen is None else [n.lengths(r) for r in target.widen],
            "floor_line": None if target.floor_line is None else [n.lengths(r) for r in target.floor_line.rows],
        },
        "removal": removal_json(one.removal, n),
        "smooth": one.taper.smooth,
        "worst_below_percent": _tidy(one.taper.worst_below.percent),
        "worst_above_percent": _tidy(one.taper.worst_above.percent),
        "limits": [
            {
                "side": x.side,
                "distance": n.length(x.distance_mm),
                "depth": n.length(x.depth_mm),
                "by": x.by,
            }
            for x in one.limits
        ],
        "walls": [
            {
                "hazard": wall.hazard,
                "wall": None if wall.least is None else n.length(wall.least.wall_mm),
                "limit": n.length(wall.behind.stop_mm),
                "sd": n.length(known.sd_mm),
                "kept_share": None
                if wall.least is None
                else _tidy(known.kept(wall.least.wall_mm, wall.behind.stop_mm)),
            }
            for wall, known in zip(one.walls.walls, one.draws, strict=True)
        ],
        "passes": [
            {
                "name": p.name,
                "kind": p.kind,
                "side": p.side,
                "cutter": p.cutter,
                "from": None if p.from_mm is None else n.length(p.from_mm),
                "to": None if p.to_mm is None else n.length(p.to_mm),
            }
            for p in one.passes
        ],
    }


def group_json(proposal: Proposal, trade: TradeOff | None, n: Numbers) -> Json:
    """Return what concerns all ports of a proposal together."""
    blame = proposal.found.blame
    return {
        "ports": [p.port.port.name for p in proposal.ports],
        "matched": proposal.found.problem.matched,
        "removed_cc": cc(sum(p.removal.volume_mm3 for p in proposal.ports)),
        "blame": None
        if blame is None
        else {"alone": [_relief(r) for r in blame.reliefs], "taken": [_relief(r) for r in blame.taken]},
        "trade_off": None
        if trade is None
        else {
            "points": [
                {
                    "smallest": n.area(p.smallest_mm2),
                    "removed_cc": cc(p.removed_mm3),
                    "least_over": None if np.isinf(p.least_over_mm) else n.length(p.least_over_mm),
                }
                for p in trade.points
            ],
            "asked": trade.asked,
            "kinks": [
                {"point": k.point, "kind": k.kind, "port": k.port, "distance": n.length(k.where_mm)}
                for k in trade.kinks
            ],
            "ends": list(trade.ends),
        },
    }


def _relief(r: Relief) -> Json:
    return {"kind": r.kind, "by": _tidy(r.by), "distance_mm": _tidy(r.where_mm), "port": r.port, "alone": r.alone}


def _tidy(value: float) -> float | None:
    return None if np.isnan(value) else round(float(value), 4)
