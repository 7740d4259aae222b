"""What are the drawings of a match: the outlines on each other, and which way milling shifts them?"""

from __future__ import annotations

from portgeom.job.values import Port
from portgeom.output.charts import match_chart, milling_chart
from portgeom.output.charts.charts import Drawing
from portgeom.output.words.shown import Shown
from portgeom.questions.match.match import Match


def match_drawings(found: Match | None, port: Port, shown: Shown) -> tuple[Drawing, ...]:
    """Return the drawings of a match; none where nothing meets the face, no milling where nothing is milled."""
    if found is None:
        return ()
    against = sum(s.facing == "faces the flow" for s in found.steps)
    made = [
        Drawing(
            "match",
            "What meets at the face",
            match_chart.CONVENTION,
            f"Port {port.name} with what meets it at the face; an edge faces the flow at {against} of 12 hours.",
            match_chart.draw_match(found, port, shown),
        )
    ]
    if found.shift is not None and (found.shift.shift_mm or found.shift.gap_mm):
        made.append(
            Drawing(
                "milling",
                "What milling shifts",
                milling_chart.CONVENTION,
                f"A head from the side, let down by milling its deck: the way down along the face of port {port.name}.",
                milling_chart.draw_milling(found.shift, shown, lean_deg=found.lean_deg),
            )
        )
    return tuple(made)
