"""What does a match at the face read like, at the bench and to a program?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from portgeom.job.units import length_from_mm
from portgeom.output.words.tables import table
from portgeom.questions.match.steps import FLUSH_MM

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.json_doc import Json, Numbers
    from portgeom.output.words.shown import Shown
    from portgeom.questions.match.laid import Laid
    from portgeom.questions.match.match import Match
    from portgeom.questions.match.milling import Shift
    from portgeom.questions.match.steps import ClockStep, Within

SIGNS = (
    "A step is how far the other part's opening lies outside the port's edge (+: it is larger there, -: it stands into "
    "the port)."
)

MILLING = (
    "Seen from the side, deck below and level: milling the deck lets the head down square to it; a shift is along the "
    "face, up away from the deck."
)


def fine(length_mm: float, shown: Shown) -> str:
    """Return a step without its unit: to 0.01 mm or 0.001 in, with its sign."""
    value = length_from_mm(length_mm, shown.units)
    text = f"{value:+.2f}" if shown.units == "mm" else f"{value:+.3f}"
    return text[1:] if not text.strip("+-0.") else text


def fine_length(length_mm: float, shown: Shown) -> str:
    """Return a small length with its unit, without a sign."""
    return f"{fine(abs(length_mm), shown).lstrip('+')} {shown.units}"


def hour(clock_deg: float) -> str:
    """Return a clock place as its hour.

    Examples
    --------
    >>> hour(0.0), hour(90.0)
    ('12', '3')
    """
    return str(round(clock_deg / 30.0) % 12 or 12)


def match_text(port: LoftedPort, stage: LoftedStage, found: Match | None, shown: Shown) -> str:
    """Return how port, gasket and manifold meet."""
    head = f"Port {port.port.name}, {stage.stage.name}"
    if found is None:
        return (
            f"{head}: the job names nothing that meets its face. Add a [port.match] with holes, and a gasket or a "
            "manifold."
        )
    return "\n".join(
        [
            f"{head}: match at the face",
            *(f"  {line}" for line in part_lines(found, shown)),
            table(step_headings(found, shown), [step_row(s, found, shown) for s in found.steps], left=1),
            *(f"  {line}" for line in verdict_lines(found, shown)),
        ]
    )


def step_headings(found: Match, shown: Shown) -> list[str]:
    """Return the headings of the table of steps."""
    u = shown.units
    heads = ["o'clock"]
    if found.manifold is not None:
        heads += [f"manifold {u}", "within its play", "step"]
        if found.steps[0].after_mm is not None:
            heads.append("once milled")
    if found.gasket is not None:
        heads += [f"gasket {u}", "within its play", f"in the stream {u}"]
    return heads


def step_row(step: ClockStep, found: Match, shown: Shown) -> list[str]:
    """Return one clock place as cells."""
    cells = [hour(step.clock_deg)]
    if step.manifold is not None:
        known = found.manifold is not None and found.manifold.play_known
        cells += [fine(step.manifold.best_mm, shown), _range(step.manifold, shown, known=known), step.facing]
        if step.after_mm is not None:
            cells.append(fine(step.after_mm, shown))
    if step.gasket is not None:
        known = found.gasket is not None and found.gasket.play_known
        cells += [fine(step.gasket.best_mm, shown), _range(step.gasket, shown, known=known), _overhang(step, shown)]
    return cells


def _range(within: Within, shown: Shown, *, known: bool) -> str:
    return f"{fine(within.least_mm, shown)} to {fine(within.most_mm, shown)}" if known else "not known"


def _overhang(step: ClockStep, shown: Shown) -> str:
    if step.most_overhang_mm < FLUSH_MM:
        return "no"
    best, worst = (fine(x, shown).lstrip("+") for x in (step.overhang_mm, step.most_overhang_mm))
    if step.overhang_mm < FLUSH_MM:
        return f"up to {worst}"
    return best if best == worst else f"{best}, up to {worst}"


def part_lines(found: Match, shown: Shown) -> list[str]:
    """Return how each part lies on its pins."""
    parts = (("gasket", found.gasket), ("manifold", found.manifold))
    return [_part_line(name, part, shown) for name, part in parts if part is not None]


def _part_line(name: str, part: Laid, shown: Shown) -> str:
    worst = int(part.fit.off_mm.argmax())
    off = f"its holes lie within {fine_length(float(part.fit.off_mm[worst]), shown)} of their pins"
    if not part.play_known:
        return f"The {name} by its holes, best of all: {off}. Sizes of pins and holes are not given: no play is known."
    if not part.fit.goes_on:
        miss, play = float(part.fit.off_mm[worst]), float(part.fit.play_mm[worst])
        return (
            f"The {name} does not go on: hole {worst + 1} is {fine_length(miss, shown)} off its pin at best, and has "
            f"{fine_length(play, shown)} of play. Check the holes, or open it out."
        )
    return (
        f"The {name} by its holes, best of all: {off}; within their play its opening moves up to "
        f"{fine_length(part.shifts_mm, shown)} and turns up to {part.turns_deg:.1f} degrees either way."
    )


def verdict_lines(found: Match, shown: Shown) -> list[str]:
    """Return what the steps come to, and what milling does."""
    lines = [SIGNS]
    flow = "Flow runs from the manifold into the port" if found.kind == "intake" else "Flow runs out of the port"
    against = [s for s in found.steps if s.facing == "faces the flow"]
    if found.manifold is not None:
        if against:
            worst = max(against, key=lambda s: abs(s.manifold.best_mm) if s.manifold else 0.0)
            assert worst.manifold is not None
            what = "the port's edge" if found.kind == "intake" else "the manifold's edge"
            hours = ", ".join(hour(s.clock_deg) for s in against)
            lines.append(
                f"{flow}: {what} faces it at {hours} o'clock, most at {hour(worst.clock_deg)}, by "
                f"{fine_length(worst.manifold.best_mm, shown)}."
            )
        else:
            lines.append(f"{flow}: no edge faces it as the manifold lies best.")
        lines.append(
            f"Port {shown.area(found.port_area_mm2)}; open through all now {shown.area(found.common_area_mm2)}; cut to "
            f"the common line both have {shown.area(found.matched_area_mm2)}."
        )
    if found.gasket is not None:
        out = [s for s in found.steps if s.overhang_mm >= FLUSH_MM]
        if out:
            worst = max(out, key=lambda s: s.overhang_mm)
            lines.append(
                f"The gasket stands into the stream at {', '.join(hour(s.clock_deg) for s in out)} o'clock, most at "
                f"{hour(worst.clock_deg)}, by {fine_length(worst.overhang_mm, shown)}: trim it."
            )
        else:
            lines.append("The gasket stands into the stream nowhere as it lies best.")
    return lines + shift_lines(found, shown)


def shift_lines(found: Match, shown: Shown) -> list[str]:
    """Return what milling does to a match; nothing where nothing is milled."""
    shift = found.shift
    if shift is None:
        return []
    leans = (
        "Its face stands square to the deck." if not found.lean_deg else f"Its face leans {found.lean_deg:g} degrees."
    )
    lines = [f"{MILLING} {leans}", _shift_line(shift, shown)]
    if found.bolts_bind_mm > 0.0:
        lines.append(
            f"That is {fine_length(found.bolts_bind_mm, shown)} more than the play of its bolts: they will not go in "
            "until the faces are milled, too, or holes are opened out."
        )
    if shift.face_too_mm is not None and shift.drop_then_mm is not None and shift.face_too_mm > 0.0:
        lines.append(
            f"With {fine_length(shift.face_too_mm, shown)} in all off each face the ports meet as before; the manifold "
            f"then sits {fine_length(shift.drop_then_mm, shown)} lower, and its ends need as much room."
        )
    return lines


def _shift_line(shift: Shift, shown: Shown) -> str:
    if not shift.shift_mm and not shift.gap_mm:
        return "Milling shifts nothing: the manifold goes with this head."
    way = "down" if shift.shift_mm < 0.0 else "up"
    words = f"Milling moves the port {fine_length(shift.shift_mm, shown)} {way} along its face against the manifold"
    if shift.drop_mm:
        side = "drops" if shift.drop_mm > 0.0 else "rises"
        words += f", which {side} by {fine_length(shift.drop_mm, shown)} until the faces touch"
    if shift.gap_mm:
        side = "opens a gap" if shift.gap_mm > 0.0 else "makes the faces overlap"
        words += f", and {side} of {fine_length(shift.gap_mm, shown)}"
    return f"{words}."


def match_json(found: Match | None, n: Numbers) -> dict[str, Json]:
    """Return the entry of ``match``; all null where nothing meets the face."""
    if found is None:
        return {"steps": [], "gasket": None, "manifold": None, "milling": None, "areas": None}
    shift = found.shift
    return {
        "gasket": _part_json(found.gasket, n),
        "manifold": _part_json(found.manifold, n),
        "steps": [_step_json(s, n) for s in found.steps],
        "areas": {
            "port": n.area(found.port_area_mm2),
            "common": n.area(found.common_area_mm2),
            "matched": n.area(found.matched_area_mm2),
        },
        "milling": None
        if shift is None
        else {
            "shift": n.length(shift.shift_mm),
            "gap": n.length(shift.gap_mm),
            "drop": n.length(shift.drop_mm),
            "face_too": None if shift.face_too_mm is None else n.length(shift.face_too_mm),
            "drop_then": None if shift.drop_then_mm is None else n.length(shift.drop_then_mm),
            "bolts_bind": n.length(found.bolts_bind_mm),
        },
        "matched_line": [n.lengths(p) for p in found.matched_mm],
    }


def _part_json(part: Laid | None, n: Numbers) -> Json:
    if part is None:
        return None
    return {
        "off": n.lengths(part.fit.off_mm),
        "play": n.lengths(part.fit.play_mm) if part.play_known else None,
        "goes_on": part.fit.goes_on if part.play_known else None,
        "shift": n.lengths(part.fit.best.shift_mm),
        "turn_deg": round(math.degrees(part.fit.best.turn_rad), 4),
        "shifts": n.length(part.shifts_mm) if part.play_known else None,
        "turns_deg": round(part.turns_deg, 3) if part.play_known else None,
    }


def _step_json(step: ClockStep, n: Numbers) -> Json:
    return {
        "clock": step.clock_deg,
        "manifold": _within_json(step.manifold, n),
        "gasket": _within_json(step.gasket, n),
        "facing": step.facing,
        "overhang": n.length(step.overhang_mm),
        "most_overhang": n.length(step.most_overhang_mm),
        "after_milling": None if step.after_mm is None else n.length(step.after_mm),
    }


def _within_json(within: Within | None, n: Numbers) -> Json:
    if within is None:
        return None
    return {"best": n.length(within.best_mm), "least": n.length(within.least_mm), "most": n.length(within.most_mm)}
