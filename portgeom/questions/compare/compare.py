"""How do the ports of a head compare, or the stages of one port, or ports of several heads?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TypeAlias

from portgeom.questions.compare.match import WITHIN_MM, Match, NoMatch, matches
from portgeom.questions.compare.members import Member, Source, members, named
from portgeom.questions.compare.odd_one import OddOne, OffTheOthers, odd_one, off_the_others
from portgeom.questions.compare.pairs import Pair, pair
from portgeom.questions.uncertainty.campaign import Campaign

Matches: TypeAlias = tuple[Match | NoMatch, ...]
"""What each of several ports lacks so that all match."""


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
    matches : Matches
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
    matches: Matches
    campaigns: tuple[Campaign, ...]

    @property
    def folded(self) -> int:
        """Return how many draws were left out, over all ports, because their section planes crossed."""
        return sum(p.folded for c in self.campaigns for p in c.ports)


def compare(sources: Sequence[Source], *, within_mm: float = WITHIN_MM, matched: Matches | None = None) -> Comparison:
    """Return how the stages chosen from some jobs compare.

    Parameters
    ----------
    within_mm : float
        Surfaces nearer to each other than this match.
    matched : Matches, optional
        What each lacks to match the others, where it was asked already.
    """
    found = members(sources)
    siblings = sum(len({p.port.name for p, _ in s.chosen}) for s in sources) == len(found)
    if matched is None:
        matched = matches(named(sources), within_mm=within_mm) if siblings and len(found) > 1 else ()
    off = off_the_others(found) if siblings else ()
    return Comparison(
        members=found,
        siblings=siblings,
        pairs=tuple(pair(found, a, b) for a, b in combinations(range(len(found)), 2)),
        off=off,
        odd=odd_one(off),
        matches=matched,
        campaigns=tuple(s.campaign for s in sources),
    )


def compare_siblings(
    sources: Sequence[Source], *, within_mm: float = WITHIN_MM, matched: Sequence[Matches] | None = None
) -> tuple[Comparison, ...]:
    """Return how the stages chosen compare, intake ports among themselves and exhaust ports likewise.

    A kind of which there is only one is left out. ``matched`` is what ``sibling_matches`` has answered already.
    """
    kinds = _by_kind(sources)
    known = [None] * len(kinds) if matched is None else matched
    return tuple(compare(k, within_mm=within_mm, matched=m) for k, m in zip(kinds, known, strict=True))


def sibling_matches(sources: Sequence[Source]) -> tuple[Matches, ...]:
    """Return what each port lacks to match its siblings, kind by kind as ``compare_siblings`` goes through them.

    No draws are looked at, so the campaigns may be empty.
    """
    return tuple(matches(named(of_kind)) for of_kind in _by_kind(sources))


def _by_kind(sources: Sequence[Source]) -> list[list[Source]]:
    """Return the stages chosen of each kind of port, of which there are two or more."""
    kinds = []
    for kind in dict.fromkeys(port.port.kind for s in sources for port, _ in s.chosen):
        of_kind = [replace(s, chosen=tuple(c for c in s.chosen if c[0].port.kind == kind)) for s in sources]
        if sum(len(s.chosen) for s in of_kind) > 1:
            kinds.append([s for s in of_kind if s.chosen])
    return kinds
