"""What does a report say of proposed targets: against as cast, and what limits them at each distance?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.values import Job
from portgeom.output.charts.propose_chart import (
    CONVENTION,
    TRADE_CONVENTION,
    draw_proposal,
    draw_trade_off,
    propose_chart,
)
from portgeom.output.charts.sheet_svg import svg_of
from portgeom.output.words.markup import EMPTY, Html, element, items, join, paragraph, table, text
from portgeom.output.words.propose_doc import (
    blame_lines,
    depth_words,
    kind_words,
    own_words,
    short_words,
)
from portgeom.output.words.shown import Shown
from portgeom.output.words.target_toml import target_toml
from portgeom.questions.propose.binding import AS_CAST, NO_MORE
from portgeom.questions.propose.propose import PortProposal, Proposal
from portgeom.questions.propose.proposed import Proposed
from portgeom.questions.propose.runs import SIDES
from portgeom.questions.propose.tradeoff import TradeOff


def propose_section(job: Job, found: Sequence[Proposed], shown: Shown) -> Html:
    """Return all about proposals, each with the curve of what more would cost; nothing where there are none."""
    return join(_group(job, one.proposal, one.curve, number, shown) for number, one in enumerate(found, 1))


def _group(job: Job, proposal: Proposal, curve: TradeOff | None, number: int, shown: Shown) -> Html:
    names = [one.port.port.name for one in proposal.ports]
    total = sum(one.removal.volume_mm3 for one in proposal.ports)
    who = f"Port {names[0]}" if len(names) == 1 else f"Ports {' and '.join(names)}"
    match = ", so that they match" if proposal.found.problem.matched else ""
    blame = proposal.found.blame
    trade = EMPTY
    if curve is not None:
        drawn = svg_of(draw_trade_off(curve, shown), name=f"trade-{number}", describe=f"{who}: what more area costs.")
        trade = _figure("What a larger smallest area costs", TRADE_CONVENTION, Html(drawn))
    return join(
        (
            paragraph(
                f"{who}{match}: {shown.volume(total)} is the least to take off for the area asked with every wall "
                "left standing. Nothing in the job is changed by this."
            ),
            EMPTY if blame is None else items(line.strip() for line in blame_lines(blame, shown)),
            join(_port(job, one, shown) for one in proposal.ports),
            trade,
        )
    )


def _port(job: Job, one: PortProposal, shown: Shown) -> Html:
    port, removed = one.port.port, one.removal
    name = f"Port {port.name}, {one.stage.stage.name}"
    smallest = removed.smallest_after
    facts = [
        f"{shown.volume(removed.volume_mm3)} to take off; then the smallest flow area is "
        f"{shown.area(smallest.area_mm2)}, at {shown.length(smallest.distance_mm)}",
    ]
    if one.own is not None:
        facts.append(f"its own target {port.target}: {own_words(one.own, shown)}")
    facts += short_words(one, shown)
    drawn = svg_of(
        draw_proposal(propose_chart(one, shown)),
        name=f"proposed-{port.name}",
        describe=f"{name}: flow area as cast and as proposed, depth off each side, and what stops each side.",
    )
    return join(
        (
            element("h3", text(f"Proposed for {name[:1].lower()}{name[1:]}")),
            items(facts),
            _figure(f"Proposed against as cast, {name[:1].lower()}{name[1:]}", CONVENTION, Html(drawn)),
            _lines(one, shown),
            element("details", element("summary", text("The target to paste into the job")), _code(one, job)),
        )
    )


def _code(one: PortProposal, job: Job) -> Html:
    return element("pre", text(target_toml(one.target, job.units)))


def _lines(one: PortProposal, shown: Shown) -> Html:
    sides = [s for s in SIDES if any(x.side == s and x.by != AS_CAST for x in one.limits)]
    rows = []
    for at in sorted({x.distance_mm for x in one.limits}):
        here = {x.side: x for x in one.limits if x.distance_mm == at}
        stops = [f"{s}: {kind_words(x.by)}" for s, x in here.items() if x.by not in (NO_MORE, AS_CAST)]
        depth = [depth_words(here[s].depth_mm, shown) if s in here else "" for s in sides]
        rows.append([shown.number(at), "; ".join(stops) or NO_MORE, *depth])
    u = shown.units
    head = [f"at {u}", "what stops it", *(f"off the {s}, {u}" for s in sides)]
    return table("What comes off each side, and what keeps it from going deeper", head, rows, left=2)


def _figure(title: str, convention: str, drawing: Html) -> Html:
    return element(
        "figure",
        element("figcaption", text(f"{title}: "), element("span", text(convention))),
        element("div", drawing, class_="draw", tabindex="0", role="group", aria_label=title),
        class_="proposed",
    )
