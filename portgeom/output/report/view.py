"""What stands on the page for turning, cutting and reading a port, before the script brings it to life?

Without a script, without WebGL and on paper the still picture is all there is of it.
"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.units import length_from_mm
from portgeom.output.charts.frame import colour_bar
from portgeom.output.charts.sheet import Mark, sheet
from portgeom.output.charts.sheet_svg import FONTS, svg_of
from portgeom.output.report.packed import json_block
from portgeom.output.report.port_data import port_data, wall_scale
from portgeom.output.report.shown_states import ShownStates
from portgeom.output.scene.hazard_shapes import HazardShape
from portgeom.output.scene.port_scene import Scale
from portgeom.output.scene.still import FOOT, HEAD, TALL, WIDE
from portgeom.output.words.markup import EMPTY, Html, element, join, text
from portgeom.output.words.shown import Shown
from portgeom.questions.whole_job import WholeJob, WholeStage

KEYS = (
    "Drag to turn, pinch or wheel to zoom, tap to read a place. Keys: arrows turn, with Shift they move; + and - zoom; "
    "Enter reads the middle; Page Up and Page Down move the distance; Home shows the whole."
)

CUTS = (
    ("0", "not cut"),
    ("1", "across, the face side stays"),
    ("2", "across, the seat side stays"),
    ("3", "lengthwise, the left half stays"),
)

VIEWS = (("entry", "entry"), ("roof", "roof"), ("side", "side"), ("left", "left"), ("seat", "seat"))

BAR_WIDE, BAR_SIDE = 210.0, 8.0
"""Width of the colour bar's drawing under the picture that turns, and what is left free at its sides, in points."""


def view_section(
    name: str, whole: WholeJob, stage: WholeStage, seen: ShownStates, pictured: Html, caption: str
) -> Html:
    """Return the picture of a port that turns, with its controls; ``pictured`` is the still one in its place."""
    title = f"Port {stage.answers.port.port.name}, {caption}"
    hazards = bool(stage.cutting.hazards)
    return element(
        "figure",
        element(
            "figcaption",
            text("The port in the round: "),
            element("span", text("the passage as a mould of it would look: what hangs is a dent")),
        ),
        element("div", pictured, class_="still"),
        Html(
            f'<canvas tabindex="0" role="application" aria-label="{text(title)}, a picture that turns" '
            f'aria-describedby="{name}-keys"></canvas>'
        ),
        element("div", join(_bars(name, whole, stage, seen)), class_="bars"),
        element("p", text("Tap a place to read it."), class_="picked", role="status"),
        element(
            "div",
            _choice("state", "Show", [(str(k), s.name) for k, s in enumerate(seen.states)]),
            _choice("colour", "Colour by", _colours(hazards)),
            _choice("cut", "Cut open", CUTS),
            _tick("hazards", "what lies behind the walls") if hazards else EMPTY,
            _buttons("Look from", [(f'data-view="{key}"', words, words) for key, words in VIEWS]),
            _buttons(
                "Zoom",
                [
                    ('data-act="nearer"', "+", "nearer"),
                    ('data-act="further"', "−", "further away"),  # noqa: RUF001  as wide as the plus beside it
                    ('data-act="whole"', "whole", "the whole port"),
                ],
            ),
            class_="controls",
        ),
        element("p", text(KEYS), class_="keys", id=f"{name}-keys"),
        class_="view3d",
    )


def again(name: str) -> Html:
    """Return the still picture of this name once more, without its bytes."""
    tall = HEAD + TALL + FOOT
    return Html(
        f'<svg viewBox="0 0 {WIDE:g} {tall:g}" font-family="{FONTS}" role="img" '
        f'aria-label="The picture of the port above, once more"><use href="#{name}"/></svg>'
    )


def view_data(
    name: str, whole: WholeJob, stage: WholeStage, seen: ShownStates, shapes: Sequence[HazardShape], cells: int
) -> Html:
    """Return what the script has to know of a port, as a block of data."""
    return json_block(f"{name}-data", port_data(whole, stage, seen, shapes, cells))


def reading_section(name: str, whole: WholeJob, stage: WholeStage, shown: Shown) -> Html:
    """Return where the section at a distance is drawn and told; shown only once the script is there to do so."""
    per = length_from_mm(1.0, whole.units)
    distance = stage.answers.port.chart.distance_mm * per
    start = stage.answers.roof.peak.distance_mm * per
    port, who = stage.answers.port.port, f"Port {stage.answers.port.port.name}"
    step = "0.5" if whole.units == "mm" else "0.02"
    slider = Html(
        f'<input type="range" id="{name}-distance" min="{distance[0]:.4f}" max="{distance[-1]:.4f}" step="{step}" '
        f'value="{start:.4f}" data-start="{start:.4f}">'
    )
    return element(
        "aside",
        element("p", text("The section at a distance, looking in"), class_="headline"),
        Html(f'<svg role="img" aria-label="{text(who)}: the section at the distance below, looking in"></svg>'),
        element(
            "p",
            element("span", text(port.left_wall)),
            element("span", text(port.right_wall)),
            class_="walls",
            aria_hidden="true",
        ),
        element("label", text(f"Distance along the path, {shown.units}"), for_=f"{name}-distance"),
        slider,
        element("div", class_="told", aria_live="polite"),
        element(
            "p",
            *(element("span", text(words), class_=f"key {key}") for key, words in KEY_WORDS),
            class_="legend",
        ),
        class_="reading",
        aria_label=f"{who}: section at a distance",
        hidden="hidden",
    )


KEY_WORDS = (("now", "as it is"), ("shown", "as shown"), ("target", "metal to take off"), ("line", "wanted"))


def _colours(hazards: bool) -> list[tuple[str, str]]:
    colours = [("proud", "height over the line"), ("wall", "metal left behind the wall"), ("plain", "nothing")]
    return colours if hazards else [c for c in colours if c[0] != "wall"]


def _bars(name: str, whole: WholeJob, stage: WholeStage, seen: ShownStates) -> list[Html]:
    scales: list[tuple[str, Scale, str]] = [("proud", seen.scale, "roof: ")]
    if stage.cutting.hazards:
        scales.append(("wall", wall_scale(stage, whole), ""))
    bars = []
    for key, scale, before in scales:
        words = f"{before}{scale.words}"
        marks: list[Mark] = colour_bar(BAR_SIDE, 4.0, BAR_WIDE - BAR_SIDE, scale.ramp, scale.marks, "", ("", ""))
        describe = f"Colour scale: {words}, from {scale.low_words} to {scale.high_words}"
        drawn = svg_of(sheet(BAR_WIDE, 30.0, marks), name=f"{name}-bar-{key}", describe=describe)
        ends = [element("span", text(end)) for end in (scale.low_words, scale.high_words)]
        bars.append(element("div", ends[0], Html(drawn), ends[1], element("span", text(words)), data_bar=key))
    return bars


def _choice(name: str, label: str, options: Sequence[tuple[str, str]]) -> Html:
    inside = join((element("option", text(words), value=value) for value, words in options), "")
    return element("label", text(f"{label} "), element("select", inside, data_control=name))


def _tick(name: str, label: str) -> Html:
    return element("label", Html(f'<input type="checkbox" data-control="{name}">'), text(f" {label}"), class_="tick")


def _buttons(label: str, buttons: Sequence[tuple[str, str, str]]) -> Html:
    inside = join(
        (
            Html(f'<button type="button" {data} aria-label="{text(f"{label}: {told}")}">{text(words)}</button>')
            for data, words, told in buttons
        ),
        "",
    )
    return element("div", element("span", text(label)), inside, role="group", aria_label=label, class_="buttons")
