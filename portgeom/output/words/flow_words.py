"""What does the flow of a port say in sentences: speeds, valve, readings, demand, losses, and the method's limits?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.output.words.flow_shown import FlowShown
from portgeom.output.words.shown import oclock, percent
from portgeom.questions.flow.along import Along, Place
from portgeom.questions.flow.bench import BenchPoint, volume_m3_s
from portgeom.questions.flow.bends import Bend, Vortex
from portgeom.questions.flow.correlations import CAST_ROUGHNESS_MM, SOURCES
from portgeom.questions.flow.demand import MACH_INDEX_LIMIT, Demand, HeldHead
from portgeom.questions.flow.losses import BEST_CONE_DEG, STALL_CONE_DEG, Loss
from portgeom.questions.flow.side_by_side import Pair
from portgeom.questions.flow.valve import THROAT_PERCENT, ValveAreas
from portgeom.questions.flow.whole import FlowAnswers, FlowState

LIMITS = (
    "This ranks places and compares states; it does not predict a bench.",
    "Speeds are means over whole sections, and the flow is taken as filling them: where it leaves a wall, it runs "
    "faster than told.",
    "Losses come from correlations for pipes with long straights before and after. In a port one bend runs into the "
    "next; the order of the places holds better than any figure.",
    "What valve, stem, boss, steps and roughness of the cut lose is not among the losses, and at small lifts that "
    "is most of all.",
    "A bench draws steadily; an engine does not. Ranges marked common practice have no source.",
)
"""The limits of the method, in plain words."""

COEFFICIENTS = (
    "C is the effective area (eff.) over the curtain, the opening, the throat less the stem, and the head. Effective "
    "is what would pass as much without loss, reckoned as air that thins."
)
"""What the coefficients of a reading are."""

OVERLAP = "= not told apart from the one above: their spreads overlap."

KIND_WORDS = {"friction": "friction", "bend": "bend", "contraction": "narrowing", "diffusion": "widening"}


def basis_words(state: FlowState, fs: FlowShown) -> str:
    """Return what flow the speeds are for."""
    basis = state.along.basis
    pressure = fs.pressure(basis.depression.amount)
    flow = fs.flow(basis.mass_kg_s / state.air.density_kg_m3, state.air)
    if basis.kind == "rate":
        return f"Speeds for {flow}, as asked, at {pressure}."
    if basis.reading is not None:
        lift = fs.shown.length(basis.reading.lift_mm)
        return f"Speeds for the largest reading, {flow} at lift {lift} and {pressure}."
    return (
        f"Speeds for {flow} at {pressure}: what would pass if the smallest section ran at the theoretical speed. "
        "No bench reads as much."
    )


def range_words(place: Place) -> str:
    """Return a place's believable range and how it compares, "" where there is none."""
    if place.believable_percent is None:
        return ""
    low, high = place.believable_percent
    return f"{low:.0f} to {high:.0f}: {place.verdict}"


def throat_words(state: FlowState, fs: FlowShown) -> str:
    """Return what the percentages are of, and what was taken from the sections."""
    sections = state.along.sections
    net = fs.shown.area(float(sections.net_mm2[sections.throat]))
    taken = state.blocked
    boss = " Net is less the guide boss." if taken.boss else ""
    if not taken.stem:
        return f"Percent of the throat, {net}: with a [[valve]] its stem is taken off first.{boss}"
    parts = "stem and guide boss" if taken.boss else "stem"
    words = f"Percent of the net throat, {net}; net is less {parts}."
    if taken.assumed:
        words += " The stem is taken to stand on the throat's own axis: give [port.guide] to say where it is."
    return f"{words} Ranges: common practice."


def fastest_words(along: Along, where: str, fs: FlowShown) -> str:
    """Return the place of highest speed."""
    at = along.fastest
    return (
        f"Fastest {fs.speed(at.speed_m_s)} (Mach {at.mach:.2f}) at {where}, the smallest section, "
        f"{fs.shown.area(at.net_mm2)} net."
    )


def theory_words(state: FlowState, fs: FlowShown) -> str:
    """Return what the depression could do without loss, both ways, and the choking limit."""
    t, air = state.theory, state.air
    words = (
        f"Theoretical at {fs.pressure(t.depression_pa)}: {fs.exact_speed(t.bernoulli_m_s)} as if air kept its "
        f"density, which is {fs.flow_on_area(t.bernoulli_m3_s_mm2, air)}; {fs.exact_speed(t.speed_m_s)} "
        f"(Mach {t.mach:.3f}) as it thins, {fs.flow_on_area(t.volume_m3_s_mm2, air)}. "
    )
    if t.choked:
        words += "At this depression the speed of sound is reached: more brings no more. "
    limit = fs.flow(state.limit_kg_s / air.density_kg_m3, air)
    return f"{words}The smallest section passes {limit} at the very most, at the speed of sound."


def valve_words(areas: ValveAreas, differs: float | None, fs: FlowShown) -> list[str]:
    """Return what there is to say of a valve besides its table."""
    shown, share = fs.shown, areas.throat_percent
    low, high = THROAT_PERCENT
    verdict = "within" if low <= share <= high else "below" if share < low else "above"
    lines = [
        f"Throat {percent(share)} of the head's diameter; common practice {low:.0f} to {high:.0f}: {verdict}.",
        f"The opening is the least between valve and seat: over the seat to lift "
        f"{shown.length(areas.joins.first_mm)}, between the edges to {shown.length(areas.joins.second_mm)}, then "
        f"the throat less the stem, {shown.area(areas.throat_net_mm2)}.",
    ]
    if differs is not None:
        lines.append(
            f"The throat as measured is {percent(100.0 * differs)} of that: check throat_diameter and the throat's "
            "section."
        )
    if any(o.beyond_quarter for o in areas.openings):
        lines.append(
            "* beyond a quarter of the head's diameter, where the curtain is as large as the head: allowed, but more "
            "lift opens no more."
        )
    return lines


def point_notes(points: Sequence[BenchPoint], fs: FlowShown) -> list[str]:
    """Return what has to be told of readings besides their table."""
    lines = [
        f"At lift {fs.shown.length(p.reading.lift_mm)} more flowed than the smallest area could pass without loss: "
        "check the reading, its depression and its leak."
        for p in points
        if p.too_good
    ]
    if any(p.beyond_quarter for p in points):
        lines.append("* beyond a quarter of the head's diameter: allowed, but more lift opens no more.")
    return lines


def circumstances(points: Sequence[BenchPoint], fs: FlowShown) -> list[str]:
    """Return how readings were taken, once for all that agree."""
    told: dict[str, None] = {}
    for p in points:
        r = p.reading
        parts = [f"at {fs.pressure(r.depression.amount)}"]
        parts += [f"bench {r.bench}"] if r.bench else []
        parts += [r.date] if r.date else []
        parts += [f"entry radius {fs.shown.length(r.entry_radius_mm)}"] if r.entry_radius_mm is not None else []
        parts += [f"exhaust pipe {r.exhaust_pipe}"] if r.exhaust_pipe else []
        if r.leak is not None:
            parts.append(f"leak of {fs.flow(volume_m3_s(r.leak, p.air), p.air)} taken off")
        missing = [
            word
            for word, given in (
                ("bench", r.bench),
                ("date", r.date),
                ("leak", r.leak is not None),
                ("entry_radius", r.entry_radius_mm is not None),
            )
            if not given
        ]
        words = "Read " + ", ".join(parts) + "."
        told[f"{words} Not noted: {', '.join(missing)}." if missing else words] = None
    return list(told)


def demand_words(asks: Demand, fs: FlowShown, state: FlowState) -> list[str]:
    """Return what the engine asks for."""
    engine, air = asks.engine, state.air
    assumed = " (assumed; give volumetric_efficiency in [engine])" if asks.efficiency_assumed else ""
    lines = [
        f"At {engine.speed_rpm:.0f} turns a minute the mean piston speed is {fs.exact_speed(asks.piston_speed_m_s)}. "
        f"With a volumetric efficiency of {asks.efficiency:.2f}{assumed} each intake port carries "
        f"{fs.flow(asks.mean_m3_s, air)} over the whole cycle, {fs.flow(asks.stroke_m3_s, air)} while the piston "
        "goes down.",
        f"Mean gas speed in the smallest section then: {fs.speed(asks.smallest_m_s)}.",
    ]
    limit = engine.speed_limit
    if limit is not None and asks.asked_mm2 is not None:
        enough = asks.smallest_mm2 >= asks.asked_mm2
        lines.append(
            f"{fs.speed(limit.amount)} at most asks for {fs.shown.area(asks.asked_mm2)}; the smallest section has "
            f"{fs.shown.area(asks.smallest_mm2)}: {'enough' if enough else 'too little'}."
        )
    else:
        lines.append('Give speed_limit = "100 m/s" or the like in [engine] for the area that it asks for.')
    index = asks.mach_index
    if index is None:
        lines.append(
            "For Taylor's mean inlet Mach index give flow_coefficient in [engine], or two bench readings, beside "
            "the [[valve]]."
        )
    else:
        low, high = MACH_INDEX_LIMIT
        source = "averaged from the readings" if index.from_readings else "the job's"
        verdict = "under" if index.index < low else "within" if index.index <= high else "over"
        lines.append(
            f"Taylor's mean inlet Mach index {index.index:.2f}, with a mean flow coefficient of "
            f"{index.coefficient:.2f} on the head ({source}): {verdict} the {low} to {high} from which volumetric "
            "efficiency falls."
        )
    return lines


def larger_words(heads: Sequence[HeldHead], fs: FlowShown) -> list[str]:
    """Return whether larger valves are worth their port; the present head comes first."""
    lines = []
    for head in heads[1:]:
        verdict = "the port has the room" if head.enough else "it asks for a larger port first"
        lines.append(
            f"A head of {fs.shown.length(head.head_diameter_mm)} asks for "
            f"{percent(100.0 * (head.area_ratio - 1.0))} more area everywhere upstream: {verdict}."
        )
    lines.append("Places in percent of each head's own throat less the stem, the throat at the same share of the head.")
    return lines


def loss_name(loss: Loss, fs: FlowShown) -> str:
    """Return what loses, and where."""
    shown = fs.shown
    if loss.kind == "friction":
        return "friction, all along"
    return f"{KIND_WORDS[loss.kind]} {shown.number(loss.from_mm)} to {shown.number(loss.to_mm)}"


def loss_shape(loss: Loss) -> str:
    """Return the shape that the correlations were asked for."""
    if loss.bend is not None:
        bend = loss.bend
        return f"{bend.turn_deg:.0f} deg, r/D {bend.radius_ratio:.1f}, x{bend.area_ratio:.2f}"
    if loss.cone is not None:
        return f"x{loss.area_ratio:.2f}, cone {loss.cone.angle_deg:.1f} deg"
    return f"x{loss.area_ratio:.2f}" if loss.kind == "contraction" else ""


def cone_words(loss: Loss, fs: FlowShown) -> str:
    """Return a widening run against the stall limits of published diffuser maps."""
    cone = loss.cone
    assert cone is not None
    words = (
        f"Widening {fs.shown.number(loss.from_mm)} to {fs.shown.length(loss.to_mm)}: like a cone of "
        f"{cone.angle_deg:.1f} degrees, {cone.length_ratio:.1f} inlet radii long: {cone.stall} "
        f"(published maps: least loss to {BEST_CONE_DEG:.0f}, stall from {STALL_CONE_DEG:.0f})."
    )
    return f"{words} In a bend flow has left the wall at 2.5 degrees: the angle alone promises nothing."


def bend_words(bend: Bend, state: FlowState, fs: FlowShown) -> str:
    """Return a bend and the speed on its inside."""
    shown = fs.shown
    at = bend.tightest
    return (
        f"Bend {shown.number(bend.from_mm)} to {shown.length(bend.to_mm)}: {bend.turn_deg:.0f} degrees, "
        f"{bend.radius_ratio:.1f} hydraulic diameters. {vortex_words(at, state, fs)}"
    )


def vortex_words(at: Vortex, state: FlowState, fs: FlowShown) -> str:
    """Return how much faster the inside of a bend runs, as a free vortex."""
    side = oclock(at.clock_deg, state.port.port)
    place = fs.shown.length(at.distance_mm)
    if at.inside_outside is None or at.inside_mean is None:
        return (
            f"At {place} its centre lies within the passage, on the side of {side}: no free vortex turns so tightly, "
            "the flow leaves that wall."
        )
    return (
        f"As a free vortex air runs {at.inside_outside:.1f} times as fast on the inside ({side}) as on the outside at "
        f"{place}, {at.inside_mean:.1f} times the mean."
    )


def methods_words(ranked: Sequence[Loss]) -> str:
    """Return the correlations asked, each by its published source."""
    names = dict.fromkeys(c.method for loss in ranked if loss.kind != "friction" for c in loss.coefficients)
    told = [SOURCES[name] for name in names]
    told.append(f"friction: Colebrook, from a smooth wall to cast iron of {CAST_ROUGHNESS_MM} mm")
    return f"Correlations as the fluids library has them: {'; '.join(told)}."


def pair_words(pair: Pair, fs: FlowShown) -> list[str]:
    """Return two states held against each other: volume, smallest area, readings."""
    a, b = pair.before, pair.after
    same = a.port == b.port
    names = (a.stage, b.stage) if same else (f"port {a.port}, {a.stage}", f"port {b.port}, {b.stage}")
    head = f"Port {a.port}, from {names[0]} to {names[1]}" if same else f"From {names[0]} to {names[1]}"
    lines = [
        f"{head}: volume {_signed(pair.volume_percent)}, smallest area {_signed(pair.smallest_percent)}"
        + (f", flow at {_lifts(pair, fs)}." if pair.lifts else "; no lift was read in both.")
    ]
    if pair.unlike:
        lines.append(f"Not alike on the bench: {_unlike(pair)}")
    return lines


def unlike_words(pair: Pair) -> str:
    """Return in what two states were not read alike on the bench."""
    a, b = pair.before, pair.after
    return f"Port {a.port}, {a.stage} and port {b.port}, {b.stage} are not alike on the bench: {_unlike(pair)}"


def _unlike(pair: Pair) -> str:
    return f"{', '.join(pair.unlike)}; the flows compare less well for it."


def pairs_table(pairs: Sequence[Pair], fs: FlowShown) -> tuple[list[str], list[list[str]]]:
    """Return head and rows of how each of many pairs of states differs, in percent; "-" where a lift was not read."""
    lifts = sorted({x.lift_mm for pair in pairs for x in pair.lifts})
    head = ["from", "to", "volume", "smallest area", *(f"flow at lift {fs.shown.length(lift)}" for lift in lifts)]
    rows = []
    for pair in pairs:
        read = {x.lift_mm: _percent(x.percent) for x in pair.lifts}
        names = [f"port {x.port}, {x.stage}" for x in (pair.before, pair.after)]
        figures = [_percent(pair.volume_percent), _percent(pair.smallest_percent)]
        rows.append([*names, *figures, *(read.get(lift, "-") for lift in lifts)])
    return head, rows


def _lifts(pair: Pair, fs: FlowShown) -> str:
    return ", ".join(f"lift {fs.shown.number(x.lift_mm)} {_signed(x.percent)}" for x in pair.lifts)


def _signed(value: float) -> str:
    return f"{_percent(value)} percent"


def _percent(value: float) -> str:
    text = f"{value:+.1f}"
    return "0.0" if text in ("+0.0", "-0.0") else text


def missing_words(answer: FlowAnswers, *, engine: bool) -> list[str]:
    """Return, a line each, what the job could say more and what would come of it."""
    state = answer.state
    port, stage = state.port.port, state.stage.stage
    lines = []
    if state.along.not_named:
        names = ", ".join(state.along.not_named)
        lines.append(f"Name {names} in the column place of the section table to have them listed first.")
    if answer.valve is None:
        lines.append(
            f'Add a [[valve]] with kind = "{port.kind}", head_diameter, throat_diameter, stem_diameter, seat_angle '
            "and seat_width for its openings and the net throat."
        )
    if not state.points:
        lines.append(
            f'Add [[flow]] with port = "{port.name}", stage = "{stage.name}", depression and '
            'readings = [[lift, "rate"], ...] for what the bench says.'
        )
    if port.kind == "exhaust":
        lines.append("The engine's demand is reckoned for intake ports only.")
    elif not engine:
        lines.append("Add [engine] with bore, stroke and rpm for what the engine asks for.")
    return lines
