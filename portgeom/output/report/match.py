"""What does a report say of how port, gasket and manifold meet at the face?"""

from __future__ import annotations

from portgeom.output.words.markup import EMPTY, Html, element, items, join, table, text
from portgeom.output.words.match_doc import part_lines, step_headings, step_row, verdict_lines
from portgeom.output.words.shown import Shown
from portgeom.questions.match.match import Match


def match_section(found: Match | None, figures: Html, shown: Shown) -> Html:
    """Return how a port's face is met; nothing where the job names nothing that meets it."""
    if found is None:
        return EMPTY
    rows = [step_row(s, found, shown) for s in found.steps]
    return join(
        (
            element("h3", text("Match at the face")),
            items(verdict_lines(found, shown)),
            figures,
            table("Steps round the clock, looking in", step_headings(found, shown), rows, left=1),
            items(part_lines(found, shown)),
        )
    )
