"""What does a report say of how sure its figures are?"""

from __future__ import annotations

from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, table, text
from portgeom.output.words.shown import Shown
from portgeom.output.words.sure_doc import count_words, figure_rows, told_lines
from portgeom.questions.shape.places import bench_scale
from portgeom.questions.uncertainty.sure import StageSure
from portgeom.questions.whole import Answers


def uncertainty_section(answer: Answers, sure: StageSure | None, shown: Shown) -> Html:
    """Return how sure the figures of one stage of a port are; nothing where no draws were asked for."""
    if sure is None:
        return EMPTY
    scale = bench_scale(answer.stage.surface)
    return join(
        (
            element("h3", text("How sure the figures are")),
            paragraph(
                f"From {count_words(sure.draws)} draws of the readings, each with errors of its own and those of its "
                "tool, through the same loft. The interval holds what readings can do with 95 percent."
            ),
            table(
                "Every figure with its interval",
                ("figure", "value", "95 percent", "standard uncertainty", "between stations"),
                figure_rows(sure, shown),
            ),
            items(line.strip() for line in told_lines(sure, scale, shown)),
        )
    )
