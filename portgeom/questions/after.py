"""Does the area taper smoothly once the metal is off?"""

from __future__ import annotations

from portgeom.job.values import Limits
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.shape.removal import Removal
from portgeom.questions.shape.taper import Taper, taper_of


def taper_after(port: LoftedPort, stage: LoftedStage, metal: Removal, limits: Limits) -> Taper:
    """Return the taper of a port once everything between it and the port wanted is off."""
    return taper_of(
        port.chart.distance_mm,
        metal.after.flow_area_mm2,
        station_slab=stage.slab,
        places=tuple(r.place for r in stage.stage.sections.rows),
        throat_mm=port.throat_mm,
        schedule=port.port.schedule,
        limits=limits,
        exhaust=port.port.kind == "exhaust",
    )
