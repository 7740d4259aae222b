"""How much metal does each cutter take off in a minute in these hands? Learnt from stages that state their minutes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from portgeom.questions.compare.between import StageCut


@dataclass(frozen=True, slots=True)
class CutterRate:
    """What some cutters took off together, and in how long.

    Attributes
    ----------
    cutters : tuple of str
        One, or several that were used between the same two measurings and cannot be told apart.
    volume_mm3, minutes : float
        Over all stages that these cutters led to.
    stages : int
    """

    cutters: tuple[str, ...]
    volume_mm3: float
    minutes: float
    stages: int

    @property
    def cc_per_min(self) -> float:
        """Return the rate."""
        return self.volume_mm3 / 1000.0 / self.minutes


def cutter_rates(cuts: Iterable[StageCut]) -> tuple[CutterRate, ...]:
    """Return the rates of cutters, those that are known alone first, then by name.

    Only stages that state their minutes and after which pass they were measured tell of a cutter.
    """
    found: dict[tuple[str, ...], CutterRate] = {}
    for cut in cuts:
        if cut.rate_cc_per_min is None or cut.minutes is None or not cut.passes:
            continue
        key = tuple(sorted(cut.cutters))
        before = found.get(key, CutterRate(key, 0.0, 0.0, 0))
        found[key] = CutterRate(key, before.volume_mm3 + cut.net_mm3, before.minutes + cut.minutes, before.stages + 1)
    return tuple(sorted(found.values(), key=lambda r: (len(r.cutters), r.cutters)))
