"""How sure are the figures, to a program?"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from portgeom.output.words.json_doc import Json, Numbers, cc
from portgeom.questions.uncertainty.interval import COVERAGE

# a command that is asked for no draws comes through here too, and must not wait for all that draws rest on
if TYPE_CHECKING:
    from portgeom.questions.uncertainty.sure import StageSure, Sure


def sure_json(sure: StageSure, n: Numbers) -> dict[str, Json]:
    """Return the entry of ``uncertainty``, without port and stage."""
    return {
        **ground_json(sure, n),
        **areas_json(sure, n),
        **roof_json(sure, n),
        **removal_json(sure, n),
        **passes_json(sure, n),
        **walls_json(sure, n),
    }


def ground_json(sure: StageSure, n: Numbers) -> dict[str, Json]:
    """Return what all intervals stand on."""
    a = sure.accuracy
    return {
        "coverage": COVERAGE,
        "draws": sure.draws,
        "folded": sure.folded,
        "seed": sure.seed,
        "accuracy": {
            "gauge": n.length(a.gauge_mm),
            "tool_bias": n.length(a.tool_bias_mm),
            "trace": n.length(a.trace_mm),
            "distance": n.length(a.distance_mm),
            "pitch": a.pitch_deg,
            "given": list(a.given),
        },
    }


def areas_json(sure: StageSure, n: Numbers) -> dict[str, Json]:
    """Return volume, smallest area and the band of areas."""
    band = sure.band
    return {
        "volume_cc": _sure(sure.volume_mm3, cc),
        "smallest": {
            **_sure(sure.smallest_mm2, n.area),
            "ties": [
                {"distance": n.length(t.distance_mm), "area": n.area(t.area_mm2), "share": round(t.smaller_share, 3)}
                for t in sure.ties
            ],
        },
        "area": [
            {"distance": n.length(float(s)), "low": n.area(float(a)), "high": n.area(float(b))}
            for s, a, b in zip(band.distance_mm, band.low_mm2, band.high_mm2, strict=True)
        ],
    }


def roof_json(sure: StageSure, n: Numbers) -> dict[str, Json]:
    """Return the roof's peak and the bulges."""
    return {
        "peak": _sure(sure.peak_mm, n.length),
        "bulges": [
            {
                "distance": n.length(b.distance_mm),
                "stands_out": _sure(b.stands_out_mm, n.length),
                "volume_cc": _sure(b.volume_mm3, cc),
            }
            for b in sure.bulges
        ],
    }


def removal_json(sure: StageSure, n: Numbers) -> dict[str, Json]:
    """Return metal to remove and metal missing."""
    return {"removal_cc": _sure(sure.removal_mm3, cc), "missing_cc": _sure(sure.missing_mm3, cc)}


def passes_json(sure: StageSure, n: Numbers) -> dict[str, Json]:
    """Return what each pass takes."""
    passes: list[Json] = [{"name": p.name, "volume_cc": _sure(p.volume_mm3, cc)} for p in sure.passes]
    return {"passes": passes, "passes_run": sure.passes_run}


def walls_json(sure: StageSure, n: Numbers) -> dict[str, Json]:
    """Return the least walls."""
    return {"walls": [{"hazard": w.hazard, "stage": w.state, "wall": _sure(w.wall_mm, n.length)} for w in sure.walls]}


def _sure(sure: Sure, number: Callable[[float], float | None]) -> dict[str, Json]:
    spread = sure.spread
    entry: dict[str, Json] = {
        "value": number(spread.value),
        "low": number(spread.interval.low),
        "high": number(spread.interval.high),
        "sd": number(spread.sd),
        "between_sd": number(sure.between_sd),
        "interval": spread.interval.kind,
    }
    if sure.most:
        entry["most"] = [
            {"reading": c.reading.what, "station": c.reading.station or None, "share": round(c.share, 3)}
            for c in sure.most
        ]
    return entry
