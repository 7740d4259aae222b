"""What does a cut cost: in cc or in minutes, with the roof and the outside of the bend preferred a little?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.faults import JobError
from portgeom.job.values import Cutter, Job, Note, Side
from portgeom.questions.propose.port_model import PortModel, PortSlopes
from portgeom.questions.propose.runs import SIDES


@dataclass(frozen=True, slots=True)
class Price:
    """The cost of cutting one port: ``per_cc`` of all that comes off, and ``more`` (n,) for each mm at a point.

    ``unit`` is "cc" or "minutes".
    """

    per_cc: float
    more: F64
    unit: str

    def cost(self, removed_mm3: float, cut_mm: F64) -> float:
        """Return what cuts (n,) cost."""
        return self.per_cc * removed_mm3 / 1000.0 + float(self.more @ cut_mm)


def price_of(job: Job, model: PortModel, at_start: PortSlopes) -> Price:
    """Return the price of cutting a port, whose slopes before anything is cut are given.

    Raises
    ------
    JobError
        Where minutes are asked for and a side's cutter has no rate.
    """
    wishes = model.wishes
    per_cc = np.ones(len(SIDES))
    if wishes.minutes:
        per_cc = np.array([_minutes_per_cc(job, side) for side in SIDES])
    dearer = 0.01 * wishes.roof_over_sides_percent * np.array([0.0, 1.0, 1.0, 2.0])
    inside = 0.01 * wishes.outside_of_bend_percent * _towards_inside(model)
    least = float(per_cc.min())
    share = per_cc[:, None] * (1.0 + dearer[:, None] + inside) - least
    more = 1e-3 * np.concatenate([(share[i] * at_start.volume[i]) @ run.hat for i, run in enumerate(model.runs)])
    return Price(least, frozen(more), "minutes" if wishes.minutes else "cc")


def _towards_inside(model: PortModel) -> F64:
    """Return how far each side (4, m) lies towards the inside of the bend: 0 outside, 1 inside, a half if straight."""
    planes = model.port.chart.planes
    out = np.stack([planes.up, -planes.right, planes.right, -planes.up])
    towards = np.einsum("imc,mc->im", out, planes.turning_per_mm)
    most = float(np.linalg.norm(planes.turning_per_mm, axis=1).max())
    return 0.5 + 0.5 * towards / most if most > 0.0 else np.full(towards.shape, 0.5)


def _minutes_per_cc(job: Job, side: Side) -> float:
    cutter = cutter_for(job, side)
    if cutter is None or cutter.rate_cc_per_min is None:
        found = "asks for the least minutes, but no cutter" if cutter is None else f"needs the rate of {cutter.name!r}"
        mend = "give rate_cc_per_min of the cutters that are used, or leave minutes out"
        raise JobError([Note("job.toml", None, "propose: minutes", f"{found} (for the {side})", mend)])
    return 1.0 / cutter.rate_cc_per_min


def cutter_for(job: Job, side: Side) -> Cutter | None:
    """Return the cutter that takes most off a side: of the job's first pass there that levels or blends, else any."""
    by_name = {c.name: c for c in job.cutters}
    for kinds in (("level", "blend"), ("grooves",)):
        for one in job.passes:
            if one.side == side and one.kind in kinds:
                return by_name[one.cutter]
    rated = [c for c in job.cutters if c.rate_cc_per_min is not None]
    return next(iter(rated or job.cutters), None)
