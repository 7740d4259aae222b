"""What does a report say of which cutters get to the metal?"""

from __future__ import annotations

from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, table, text
from portgeom.output.words.reach_doc import (
    LEAST_MM3,
    corner_words,
    ending,
    method_words,
    patch_words,
    reach_rows,
    told_patches,
)
from portgeom.output.words.shown import Shown
from portgeom.output.words.vibration_doc import cutter_vibration_words
from portgeom.questions.reach.reach import Reach
from portgeom.questions.shape.places import bench_scale
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting


def reach_section(answer: Answers, cutting: Cutting, shown: Shown) -> Html:
    """Return what each cutter gets to; nothing where the job has none or nothing is to come off."""
    result = cutting.reach
    if result is None or result.volume_mm3 < LEAST_MM3:
        return EMPTY
    scale, port = bench_scale(answer.stage.surface), answer.port.port
    none = [patch_words(p, port, scale, shown) for p in told_patches(result.none.patches)]
    per_cutter = []
    for c in result.cutters:
        lines = [f"neither side reaches {patch_words(p, port, scale, shown)}" for p in told_patches(c.neither.patches)]
        lines += [corner_words(t, c, port, scale, shown) for t in c.corners]
        if c.cutter.vibration_m_s2 is not None:
            lines.append(cutter_vibration_words(c.cutter.vibration_m_s2))
        if lines:
            per_cutter.append(join((element("h4", text(c.cutter.name)), items(lines))))
    return join(
        (
            element("h3", text("Reach")),
            paragraph(_none_words(result, shown)),
            items(none),
            _table(result, shown),
            join(per_cutter),
            element("p", text(method_words(result, shown)), class_="quiet"),
        )
    )


def _none_words(result: Reach, shown: Shown) -> str:
    none = result.none
    if none.volume_mm3 < LEAST_MM3:
        return "Every place is reached by one of the cutters that the passes use, or another."
    share = max(1, round(100.0 * none.share))
    end = ending(told_patches(none.patches))
    return f"None of the cutters that the passes use reaches {shown.volume(none.volume_mm3)}, {share} percent{end}"


def _table(result: Reach, shown: Shown) -> Html:
    rows = reach_rows(result, shown)
    headings = [
        "cutter",
        "from the face, percent",
        "from the seat, percent",
        "either, percent",
        f"stick-out from the nearer, {shown.units}",
        f"tool has, {shown.units}",
    ]
    caption = f"Share of the {shown.volume(result.volume_mm3)} to come off that a straight tool line reaches"
    return table(caption, headings, rows)
