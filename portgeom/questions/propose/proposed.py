"""What is proposed for a whole job: its ports by themselves, and together those that are to end alike?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.propose_values import Wishes
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.propose.propose import Proposal, propose
from portgeom.questions.propose.tradeoff import TradeOff, trade_off


@dataclass(frozen=True, slots=True)
class Group:
    """Ports and stages that are worked out together, and whether they are to match."""

    chosen: tuple[tuple[LoftedPort, LoftedStage], ...]
    matched: bool


@dataclass(frozen=True, slots=True)
class Proposed:
    """A proposal with the curve of what more would cost; None where that was not asked."""

    proposal: Proposal
    curve: TradeOff | None


def groups_of(chosen: Sequence[tuple[LoftedPort, LoftedStage]]) -> tuple[Group, ...]:
    """Return the groups of a job: ports of one kind that share a target are to match."""
    together: dict[tuple[str, str | int], list[tuple[LoftedPort, LoftedStage]]] = {}
    for k, (port, stage) in enumerate(chosen):
        named = port.port.target
        together.setdefault((port.port.kind, k if named is None else named), []).append((port, stage))
    return tuple(Group(tuple(group), len(group) > 1) for group in together.values())


def proposed(
    job: Job, ports: Sequence[LoftedPort], groups: Sequence[Group], wishes: Wishes, *, curve: bool
) -> tuple[Proposed, ...]:
    """Return a proposal for every group.

    Raises
    ------
    JobError
        Where minutes are asked for without rates, or a hazard cannot be read.
    """
    made = [propose(job, ports, group.chosen, wishes, matched=group.matched) for group in groups]
    return tuple(Proposed(p, trade_off(p.found.problem, p.found.answer.state) if curve else None) for p in made)
