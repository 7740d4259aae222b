"""``propose``: the least cut that gives a smooth, large enough, matched port with the walls left standing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..numbers import Finite
from ..options import Asked, Opened, found_something, question
from ..saying import say, talk

if TYPE_CHECKING:
    from portgeom.job.propose_values import Wishes
    from portgeom.questions.propose.propose import Proposal
    from portgeom.questions.propose.proposed import Group


@click.command("propose")
@question
@click.option("--pair", metavar="A,B", help="These ports are to match; else those that share a target do.")
@click.option("--alone", is_flag=True, help="Every port by itself.")
@click.option("--least-area", type=Finite(), help="Smallest flow area wanted, in the job's units.")
@click.option("--curve", is_flag=True, help="Tell what a larger smallest area would cost, too.")
@click.option("--write", is_flag=True, help="Add the proposed targets to the job, under new names.")
@click.option("--out", type=click.Path(path_type=Path), help="Write a job in which the ports have these targets.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
def command(
    asked: Asked,
    pair: str | None,
    alone: bool,
    least_area: float | None,
    curve: bool,
    write: bool,
    out: Path | None,
    force: bool,
) -> None:
    """The least cut that gives what [propose] in the job asks, with the walls left standing.

    Prints targets to paste into the job. No target of the job is changed, and no port is held against a proposed one
    before its target says so; --out writes a job, beside the first, in which they are.
    """
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.propose_doc import group_json, port_proposal_json, proposal_text, trade_lines
    from portgeom.output.words.shown import Shown
    from portgeom.questions.propose.proposed import proposed

    opened = asked.open()
    job = opened.job
    found = proposed(job, opened.ports, _groups(opened, pair, alone), _wishes(opened, least_area), curve=curve)
    proposals = [one.proposal for one in found]
    if write or out is not None:
        _written(asked.job_path, opened, proposals, write=write, out=out, force=force)
    if asked.as_json:
        n = Numbers(opened.units)
        entries = [port_proposal_json(one, n) for p in proposals for one in p.ports]
        groups = [group_json(one.proposal, one.curve, n) for one in found]
        click.echo(document("propose", opened.units, entries, groups=groups))
    else:
        shown = Shown(opened.units)
        for one in found:
            say(proposal_text(job, one.proposal, shown) + "\n")
            if one.curve is not None:
                say(trade_lines(one.curve, shown) + "\n")
        click.echo(_block(opened, proposals))  # to be pasted: never broken at a terminal's width
    found_something(asked.strict, any(p.found.blame is not None for p in proposals))


def _wishes(opened: Opened, least_area: float | None) -> Wishes:
    from dataclasses import replace

    from portgeom.job.units import area_to_mm2

    wishes = opened.job.propose
    if least_area is None:
        return wishes
    if least_area <= 0.0:
        raise click.UsageError("--least-area wants an area above 0, in the job's units")
    return replace(wishes, least_area_mm2=area_to_mm2(least_area, opened.job.units))


def _groups(opened: Opened, pair: str | None, alone: bool) -> tuple[Group, ...]:
    """Return the ports that are worked out together, and whether they are to match."""
    from portgeom.questions.propose.proposed import Group, groups_of

    chosen = opened.chosen
    if alone:
        return tuple(Group((one,), False) for one in chosen)
    if pair is None:
        return groups_of(chosen)
    names = [name.strip() for name in pair.split(",")]
    found = tuple(one for name in names for one in chosen if one[0].port.name == name)
    if len(found) != len(names) or len(set(names)) < 2:
        known = ", ".join(f'"{p.port.name}"' for p, _ in chosen)
        raise click.UsageError(f"--pair wants two ports or more of {known}, with a comma between")
    return (Group(found, True),)


def _block(opened: Opened, proposals: list[Proposal]) -> str:
    """Return the targets to paste, and passes where the job has none."""
    from portgeom.output.words.target_toml import passes_toml, target_toml
    from portgeom.questions.propose.pass_plan import together

    job = opened.job
    ones = [one for p in proposals for one in p.ports]
    parts = ["# Proposed targets: paste them into job.toml, and name them by target = ... of each port."]
    parts += [target_toml(one.target, job.units) for one in ones]
    passes = together([one.passes for one in ones])
    if passes:
        own = "" if not job.passes else " The job has passes of its own: these are in their place, not besides."
        parts.append(f"# Passes to get there, in cutting order.{own}")
        text = passes_toml(passes, job.units)
        parts.append("\n".join(f"# {line}" if line else "#" for line in text.split("\n")[:-1]) if job.passes else text)
    return "\n".join(parts)


def _written(
    job_path: Path, opened: Opened, proposals: list[Proposal], *, write: bool, out: Path | None, force: bool
) -> None:
    from portgeom.job.read import job_file
    from portgeom.job.record_lock import locked
    from portgeom.job.retarget import with_targets
    from portgeom.output.files.whole_file import write_whole
    from portgeom.output.words.target_toml import quoted, target_toml

    file = job_file(job_path)
    text = file.read_text(encoding="utf-8")
    ones = [one for p in proposals for one in p.ports]
    block = "\n".join(target_toml(one.target, opened.job.units) for one in ones)
    ends = text if text.endswith("\n") else text + "\n"
    if out is not None:
        if out.resolve().parent != file.resolve().parent:
            raise click.UsageError(f"--out wants a file beside {file}: the job's tables are named from there")
        place = {p.name: k for k, p in enumerate(opened.job.ports)}
        named = {place[one.port.port.name]: quoted(one.target.name) for one in ones}
        whole = with_targets(ends, named) + "\n# Proposed.\n" + block
        write_whole(out, whole.encode("utf-8"), force=force)
        talk(f"{out}: the job with the proposed targets", err=True)
    if write:
        with locked(file.parent):
            if file.read_text(encoding="utf-8") != text:
                raise click.UsageError(f"{file} has changed meanwhile; ask again")
            write_whole(file, (ends + "\n# Proposed.\n" + block).encode("utf-8"), force=True)
        talk(f"{file}: " + ", ".join(f'"{one.target.name}"' for one in ones) + " added", err=True)
