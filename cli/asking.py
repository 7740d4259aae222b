"""What does a first job need to know, and how is what no option says asked for at the terminal?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

from .numbers import Finite

if TYPE_CHECKING:
    from portgeom.capture.new_job import Wish
    from portgeom.job.values import PortKind, Units

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Asking:
    """What the options said, and questions for the rest. Questions go to standard error."""

    given_title: str | None
    given_material: str | None
    given_ports: tuple[str, ...]
    given_kind: PortKind | None
    given_rise: float | None
    given_widen: float | None

    def title(self) -> str:
        """Return the job's title."""
        return _text(self.given_title, "--title", "What is the job called", _words)

    def units(self, given: Units | None) -> Units:
        """Return the job's units."""
        return cast("Units", _choice(given, "--units", "Units of all lengths", ["mm", "in"]))

    def material(self) -> str:
        """Return the material, a name or a density."""
        from portgeom.capture.new_job import material_of

        words = "Cast of (grey iron, aluminium, or a density in g/cc)"
        return _text(self.given_material, "--material", words, material_of, usual="grey iron")

    def ports(self) -> tuple[str, ...]:
        """Return the names of the ports, no two alike."""
        if not self.given_ports:
            words = "Names of the ports, with commas between"
            return _text(None, "--port", words, lambda text: _names(text.split(",")), usual="1")
        try:
            return _names(self.given_ports)
        except ValueError as error:
            raise click.UsageError(f"--port: {error}") from error

    def one_port(self) -> str:
        """Return the name of the one port of a sheet or a table."""
        if len(self.given_ports) > 1:
            raise click.UsageError("a table is of one port; name one")
        given = self.given_ports[0] if self.given_ports else None
        return _text(given, "--port", "Name of the port", _words, usual="1")

    def kind(self) -> PortKind:
        """Return what the ports are."""
        return cast("PortKind", _choice(self.given_kind, "--kind", "Ports are", ["intake", "exhaust"]))

    def distances(
        self, given: str | None, stations: int | None, length: float | None, *, units: Units
    ) -> tuple[float, ...]:
        """Return the distances of the stations: as listed, or so many spaced evenly over a length."""
        from portgeom.capture.new_job import distances_of, spaced

        if given is not None and (stations is not None or length is not None):
            raise click.UsageError("give --distances, or --stations with --length")
        if given is None and stations is None and length is None:
            stations = _number(None, "--stations", "How many stations", click.IntRange(2, 200), usual=12)
            words = f"Their distances from the face, in {units}, from 0 on; or the length to space them over"
            given = _text(None, "--distances", words, lambda text: _one_or(text, stations))
            if len(given.split()) == 1:
                return tuple(spaced(float(given), stations).tolist())
        if given is not None:
            return _text(given, "--distances", "", distances_of)
        count = _number(stations, "--stations", "How many stations", click.IntRange(2, 200), usual=12)
        whole = _number(length, "--length", f"Length from face to throat, in {units}", SIZE)
        return tuple(spaced(whole, count).tolist())

    def throat(self, given: float | None, units: Units) -> float:
        """Return the throat's diameter for a first guess."""
        return _number(given, "--throat", f"Diameter of the throat, in {units}", SIZE)

    def wish(self, units: Units) -> Wish | None:
        """Return what is wanted of the ports, None where nothing is yet."""
        from portgeom.capture.new_job import Wish

        step = Finite(0.0, 1000.0)
        rise = _number(self.given_rise, "--raise-roof", f"Raise the roof over as cast by, in {units}", step, usual=0.0)
        out = _number(self.given_widen, "--widen", f"Move each side wall out by, in {units}", step, usual=0.0)
        return Wish(rise, out) if rise or out else None


SIZE = Finite(0.0, 10_000.0, min_open=True)


def _text(given: str | None, option: str, words: str, check: Callable[[str], _T], *, usual: str | None = None) -> _T:
    """Return what an option or an answer says, as the check makes it; the check raises ValueError on a slip."""
    if given is not None:
        try:
            return check(given)
        except ValueError as error:
            raise click.UsageError(f"{option}: {error}") from error

    def answer(text: str) -> _T:
        try:
            return check(text)
        except ValueError as error:
            raise click.UsageError(str(error)) from error

    return cast("_T", _prompted(option, words, usual=usual, answer=answer))


def _choice(given: str | None, option: str, words: str, choices: list[str]) -> str:
    if given is not None:
        return given
    return str(_prompted(option, words, usual=choices[0], kind=click.Choice(choices)))


def _number(given: _T | None, option: str, words: str, kind: click.ParamType[Any], *, usual: _T | None = None) -> _T:
    return given if given is not None else cast("_T", _prompted(option, words, usual=usual, kind=kind))


def _prompted(
    option: str,
    words: str,
    *,
    usual: object,
    kind: click.ParamType[Any] | None = None,
    answer: Callable[[str], object] | None = None,
) -> object:
    """Ask until the answer will do; an end of input is told with the option that was not given."""
    try:
        return click.prompt(words, default=usual, type=kind, value_proc=answer, err=True)
    except click.Abort as error:
        raise click.UsageError(f"{option} is not given, and nobody answers") from error


def _words(text: str) -> str:
    plain = text.strip()
    if not plain or not plain.isprintable() or len(plain) > 200:
        raise ValueError("write it on one line, in at most 200 characters")
    return plain


def _names(parts: tuple[str, ...] | list[str]) -> tuple[str, ...]:
    names = tuple(_words(part) for part in parts)
    if len(set(names)) < len(names):
        raise ValueError("give each port a name of its own")
    return names


def _one_or(text: str, count: int) -> str:
    """Return distances as typed: as many as there are stations, or the one length they are spaced over."""
    from portgeom.capture.new_job import distances_of, numbers_of

    numbers = numbers_of(text)
    if len(numbers) == 1 and numbers[0] > 0.0:
        return text
    if len(distances_of(text)) != count:
        raise ValueError(f"{len(numbers)} distances for {count} stations")
    return text.replace(",", " ")
