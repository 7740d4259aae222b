"""What does a comparison of ports say to a program?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.output.words.json_doc import Json, Numbers, cc, removal_json
from portgeom.output.words.poured_doc import poured_json
from portgeom.questions.compare.compare import Comparison
from portgeom.questions.compare.match import Match, NoMatch
from portgeom.questions.compare.odd_one import OffTheOthers
from portgeom.questions.compare.pairs import Pair
from portgeom.questions.uncertainty.interval import Difference


def compare_json(found: Sequence[Comparison], n: Numbers) -> dict[str, Json]:
    """Return what the document of ``compare`` holds beside its head: ports, pairs and odd ones, kind by kind."""
    several = any(len(result.campaigns) > 1 for result in found)
    ports: list[Json] = []
    pairs: list[Json] = []
    odd: list[Json] = []
    for result in found:
        ports += [_member_json(result, k, n, several=several) for k in range(len(result.members))]
        pairs += [_pair_json(result, p, n) for p in result.pairs]
        if result.odd is not None:
            name = result.members[result.odd.member].name
            odd.append({"port": name, "by": [_off_json(o, n) for o in result.odd.by]})
    return {
        "ports": ports,
        "pairs": pairs,
        "odd_ones_out": odd,
        "draws": max((c.draws for result in found for c in result.campaigns), default=0),
        "draws_left_out": sum(_folded(found).values()),
    }


def _folded(found: Sequence[Comparison]) -> dict[tuple[int, str], int]:
    """Return how many draws of each port were left out, by its job and name."""
    return {(id(c), p.port): p.folded for result in found for c in result.campaigns for p in c.ports}


def _member_json(result: Comparison, k: int, n: Numbers, *, several: bool) -> Json:
    m = result.members[k]
    match = result.matches[k] if result.matches else None
    volume, small = m.volume, m.smallest
    return {
        "port": m.port.port.name,
        "stage": m.stage.stage.name,
        **({"job": m.job.title} if several else {}),
        "name": m.name,
        "length": n.length(m.length_mm),
        "volume_cc": cc(volume.value),
        "volume_interval_cc": [cc(volume.interval.low), cc(volume.interval.high)],
        "smallest": {"distance": n.length(m.smallest_at.distance_mm), "area": n.area(small.value)},
        "smallest_interval": [n.area(small.interval.low), n.area(small.interval.high)],
        "entry_area": n.area(m.entry_mm2),
        "throat_area": n.area(m.throat_mm2),
        "roof_peak": {
            "distance": n.length(m.peak.distance_mm),
            "across": n.length(m.peak.across_mm),
            "proud": n.length(m.peak.proud_mm),
        },
        "area": [
            {"distance": n.length(float(s)), "area": n.area(float(a))}
            for s, a in zip(m.distance_mm, m.flow_area_mm2, strict=True)
        ],
        "off_the_others": [_off_json(o, n) for o in result.off if o.member == k],
        "poured": poured_json(m.poured, n),
        "match": _match_json(match, n),
    }


def _match_json(match: Match | NoMatch | None, n: Numbers) -> Json:
    if match is None:
        return None
    if isinstance(match, NoMatch):
        return {"other": match.other, "why": match.why}
    metal = removal_json(match.metal, n)
    kept = ("volume_cc", "by_side", "by_zone", "deepest")
    return {"within": n.length(match.within_mm), **{key: metal[key] for key in kept}}


def _off_json(off: OffTheOthers, n: Numbers) -> Json:
    volume = off.figure == "volume"
    size = cc if volume else n.area
    unit = "_cc" if volume else ""
    times = abs(off.times)
    return {
        "figure": off.figure,
        f"distance{unit}": size(off.distance),
        f"scatter{unit}": size(off.scatter),
        "at": None if off.at_mm is None else n.length(off.at_mm),
        "times": round(times, 2) if times < float("inf") else None,
        "limit": round(off.limit, 2),
        "stands_out": off.stands_out,
    }


def _pair_json(result: Comparison, pair: Pair, n: Numbers) -> Json:
    a, b = result.members[pair.first], result.members[pair.second]
    zone, areas = pair.zone, pair.areas
    return {
        "a": a.name,
        "b": b.name,
        "a_stage": a.stage.stage.name,
        "b_stage": b.stage.stage.name,
        "volume_difference_cc": cc(pair.volume.value),
        "volume_interval_cc": [cc(pair.volume.interval.low), cc(pair.volume.interval.high)],
        "significant": pair.volume.significant,
        "smallest": _difference_json(pair.smallest, n),
        "entry": _difference_json(pair.entry, n),
        "throat": _difference_json(pair.throat, n),
        "area_rms_percent": round(areas.rms_percent, 4),
        "worst": {"distance": n.length(pair.worst_at_mm), "percent": round(pair.worst_percent, 4)},
        "zone": None
        if zone is None
        else {
            "from": n.length(zone.from_mm),
            "to": n.length(zone.to_mm),
            "volume_difference_cc": cc(zone.volume_mm3),
            "share": round(zone.share, 4),
        },
        "area_difference": [
            {
                "distance": n.length(float(s)),
                "difference": n.area(float(d)),
                "low": n.area(float(lo)),
                "high": n.area(float(hi)),
            }
            for s, d, lo, hi in zip(areas.distance_mm, areas.difference_mm2, areas.low_mm2, areas.high_mm2, strict=True)
        ],
        "unlike_lengths": pair.unlike_lengths,
    }


def _difference_json(found: Difference, n: Numbers) -> Json:
    return {
        "difference": n.area(found.value),
        "interval": [n.area(found.interval.low), n.area(found.interval.high)],
        "significant": found.significant,
    }
