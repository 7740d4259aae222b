"""What does a report say of the metal behind a port's walls?"""

from __future__ import annotations

from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, table, text
from portgeom.output.words.shown import Shown
from portgeom.output.words.walls_doc import caution_words, told_walls, wall_row, wall_words
from portgeom.questions.shape.places import bench_scale
from portgeom.questions.walls.cautions import cautions
from portgeom.questions.walls.plan import TARGET
from portgeom.questions.walls.walls import Walls
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting


def walls_section(answer: Answers, cutting: Cutting, figures: Html, shown: Shown) -> Html:
    """Return all about the walls of one stage of a port; nothing where nothing is named behind them."""
    if not cutting.hazards:
        return EMPTY
    told = caution_lines(answer, cutting, shown)
    return join(
        (
            element("h3", text("Behind the walls")),
            paragraph(f"What is left {state_words(cutting.finished)}:"),
            items(verdict_lines(answer, cutting, shown)),
            figures,
            _table(cutting, shown),
            join((element("h4", text("Beware")), items(told))) if told else EMPTY,
        )
    )


def state_words(state: Walls) -> str:
    """Return what a surface is called in a sentence.

    Examples
    --------
    A stage keeps its name, "after level" stays, and "target" becomes "at the target".
    """
    return "at the target" if state.state == TARGET else state.state


def verdict_lines(answer: Answers, cutting: Cutting, shown: Shown) -> list[str]:
    """Return every wall once all is done, in words, with what to do about it."""
    done = cutting.finished
    scale = bench_scale(done.surface)
    return [
        wall_words(wall, now, answer.port.port, scale, shown)
        for now, wall in zip(cutting.now.walls, done.walls, strict=True)
    ]


def caution_lines(answer: Answers, cutting: Cutting, shown: Shown) -> list[str]:
    """Return what to beware of, each where it first comes up."""
    known: set[tuple[str, str]] = set()
    lines = []
    for state in cutting.walls:
        fresh = [c for c in cautions(state) if (c.kind, c.wall.hazard) not in known]
        if not fresh:
            continue
        scale = bench_scale(state.surface)
        for caution in fresh:
            about = caution.kind, caution.wall.hazard
            if about not in known:
                known.add(about)
                words, name = caution_words(caution, answer.port.port, scale, shown), state_words(state)
                lines.append(f"{name[:1].upper()}{name[1:]}: {words}.")
    return lines


def _table(cutting: Cutting, shown: Shown) -> Html:
    u = shown.units
    each = zip(*(state.walls for state in cutting.walls), strict=True)
    rows = [wall_row(wall, shown) for states in each for wall in told_walls(states, shown)]
    rows = [["none" if cell == "-" else cell for cell in (*row[:2], row[6], *row[2:6])] for row in rows]
    headings = [
        "behind the wall",
        "surface",
        "verdict",
        f"least, {u}",
        f"limit, {u}",
        f"thin, {u}2",
        f"open, {u}2",
    ]
    return table(
        "Least metal behind the walls: as it is, after each pass that changes it, and at the target",
        headings,
        rows,
        left=3,
    )
