"""How do commands ask and tell how sure their figures are?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

import click

from .telling import tell

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.json_doc import Json, Numbers
    from portgeom.output.words.shown import Shown
    from portgeom.questions.uncertainty.sure import StageSure

    from .options import Asked, Opened
    from .telling import Told

A = TypeVar("A")
Command = Callable[..., None]

USUAL_DRAWS, MOST_DRAWS, FEWEST_DRAWS = 1000, 100_000, 50

seed_option = click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=20101,
    show_default=True,
    help="Of the draws: the same gives the same.",
)


def draws_option(command: Command) -> Command:
    """Give a command the option of how many draws its intervals come from; 0 leaves them out."""
    return click.option(
        "--draws",
        type=int,
        default=USUAL_DRAWS,
        show_default=True,
        envvar="PORTGEOM_DRAWS",
        callback=_checked,
        help="Draws of the readings that the intervals come from; 0 leaves them out. PORTGEOM_DRAWS sets it for good.",
    )(command)


def _checked(context: click.Context, parameter: click.Parameter, value: int) -> int:
    if value != 0 and not FEWEST_DRAWS <= value <= MOST_DRAWS:
        raise click.BadParameter(f"{value} is neither 0 nor from {FEWEST_DRAWS} to {MOST_DRAWS}")
    return value


@dataclass(frozen=True, slots=True)
class Sured(Generic[A]):
    """An answer, and how sure it is; None where that was not asked."""

    answer: A
    sure: StageSure | None


def tell_sure(
    name: str,
    asked: Asked,
    opened: Opened,
    told: list[Told[Sured[A]]],
    *,
    as_json: Callable[[A, Numbers], dict[str, Json]],
    as_text: Callable[[LoftedPort, LoftedStage, A, Shown], str],
    part_json: Callable[[StageSure, Numbers], dict[str, Json]],
    part_words: Callable[[StageSure, Shown], list[str]],
) -> None:
    """Write answers as ``tell`` does, each with its intervals: words below, and the key ``uncertainty``."""
    from portgeom.output.words.sure_doc import ground_lines
    from portgeom.output.words.sure_json import ground_json

    def with_json(both: Sured[A], n: Numbers) -> dict[str, Json]:
        entry = as_json(both.answer, n)
        if both.sure is not None:
            entry["uncertainty"] = {**ground_json(both.sure, n), **part_json(both.sure, n)}
        return entry

    def with_words(port: LoftedPort, stage: LoftedStage, both: Sured[A], shown: Shown) -> str:
        words = as_text(port, stage, both.answer, shown)
        if both.sure is None:
            return words
        return "\n".join([words, *part_words(both.sure, shown), *ground_lines(both.sure, shown)])

    tell(name, asked, opened, told, as_json=with_json, as_text=with_words)
