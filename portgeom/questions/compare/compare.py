"""How do the ports of a head compare, or the stages of one port, or ports of several heads?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from portgeom.questions.compare.match import WITHIN_MM, Match, NoMatch, matches
from portgeom.questions.compare.members import Member, Source, members
from portgeom.questions.compare.odd_one import OddOne, OffTheOthers, odd_one, off_the_others
from portgeom.questions.compare.pairs import Pair, pair
from portgeom.questions.uncertainty.campaign import Campaign


@dataclass(frozen=True, slots=True)
class Comparison:
    """Several ports or stages held against each other.

    Attributes
    ----------
    members : tuple of Member
    siblings : bool
        Whether all are different ports; else some are stages of one.
    pairs : tuple of Pair
        Every two of them, in order.
    off : tuple of OffTheOthers
        Every figure of every sibling against the others; none where there are fewer than three.
    odd : OddOne or None
    matches : tuple of (Match or NoMatch)
        One for each member, so that all match; none where stages of one port are compared, since cut metal does
        not grow back.
    campaigns : tuple of Campaign
        The draws that the uncertainties come from, one for each job.
    """

    members: tuple[Member, ...]
    siblings: bool
    pairs: tuple[Pair, ...]
    off: tuple[OffTheOthers, ...]
    odd: OddOne | None
    matches: tuple[Match | NoMatch, ...]
    campaigns: tuple[Campaign, ...]

    @property
    def folded(self) -> int:
        """Return how many draws were left out, over all ports, because their section planes crossed."""
        return sum(p.folded for c in self.campaigns for p in c.ports)


def compare(sources: Sequence[Source], *, within_mm: float = WITHIN_MM) -> Comparison:
    """Return how the stages chosen from some jobs compare.

    Parameters
    ----------
    within_mm : float
        Surfaces nearer to each other than this match.
    """
    found = members(sources)
    siblings = sum(len({p.port.name for p, _ in s.chosen}) for s in sources) == len(found)
    off = off_the_others(found) if siblings else ()
    return Comparison(
        members=found,
        siblings=siblings,
        pairs=tuple(pair(found, a, b) for a, b in combinations(range(len(found)), 2)),
        off=off,
        odd=odd_one(off),
        matches=matches(found, within_mm=within_mm) if siblings and len(found) > 1 else (),
        campaigns=tuple(s.campaign for s in sources),
    )


def compare_siblings(sources: Sequence[Source], *, within_mm: float = WITHIN_MM) -> tuple[Comparison, ...]:
    """Return how the stages chosen compare, intake ports among themselves and exhaust ports likewise.

    A kind of which there is only one is left out.
    """
    found = []
    for kind in dict.fromkeys(port.port.kind for s in sources for port, _ in s.chosen):
        of_kind = [replace(s, chosen=tuple(c for c in s.chosen if c[0].port.kind == kind)) for s in sources]
        of_kind = [s for s in of_kind if s.chosen]
        if sum(len(s.chosen) for s in of_kind) > 1:
            found.append(compare(of_kind, within_mm=within_mm))
    return tuple(found)
