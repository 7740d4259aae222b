"""How is the answer to a question told: as text for a person, or as one JSON document for a program?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

import click

from .pacing import in_turn
from .saying import say

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.json_doc import Json, Numbers
    from portgeom.output.words.shown import Shown

    from .options import Asked, Opened

A = TypeVar("A")


@dataclass(frozen=True, slots=True)
class Told(Generic[A]):
    """The answer for one stage of one port."""

    port: LoftedPort
    stage: LoftedStage
    answer: A


def each(opened: Opened, ask: Callable[[LoftedPort, LoftedStage], A]) -> list[Told[A]]:
    """Return the answer for every port and stage that was asked for."""
    ports = in_turn(opened.chosen, "working", lambda chosen: f"port {chosen[0].port.name}")
    return [Told(port, stage, ask(port, stage)) for port, stage in ports]


def tell(
    name: str,
    asked: Asked,
    opened: Opened,
    told: list[Told[A]],
    *,
    as_json: Callable[[A, Numbers], dict[str, Json]],
    as_text: Callable[[LoftedPort, LoftedStage, A, Shown], str],
) -> None:
    """Write the answers to standard output, in the way asked for.

    Parameters
    ----------
    name : str
        The command's, as the JSON document names it.
    """
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs

    if asked.as_json:
        numbers = Numbers(opened.units)
        entries: list[Json] = [
            {"port": t.port.port.name, "stage": t.stage.stage.name, **as_json(t.answer, numbers)} for t in told
        ]
        click.echo(document(name, opened.units, entries))
    else:
        shown = Shown(opened.units)
        say(paragraphs([as_text(t.port, t.stage, t.answer, shown) for t in told]))
