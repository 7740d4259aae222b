"""Where in the text of a job file does a new stage go, and what does the text then read?

Lines are put in at the end of the port's last stage; no other line is touched, so comments, order and spacing stay
as the person left them. The new text is read again, and must hold the old job and the new stage and nothing else.
"""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.faults import Gathered, JobError, Spot, nearest, shown
from portgeom.job.lines import KeyPath, header_lines


@dataclass(frozen=True, slots=True)
class NewStage:
    """A stage to be written down, in the job's own units and words.

    Attributes
    ----------
    sections : str
        Its table, by its name in the job folder.
    valve_in : bool or None
        How it was poured, None where nobody says; likewise the three that follow.
    """

    name: str
    sections: str
    poured_cc: float | None = None
    valve_in: bool | None = None
    plate_recess_cc: float = 0.0
    to_seat: float | None = None
    after: str | None = None
    minutes: float | None = None

    def written(self) -> tuple[tuple[str, str], ...]:
        """Return its keys and what stands behind each, in TOML."""
        found = [("name", _text(self.name)), ("sections", _text(self.sections))]
        if self.after is not None:
            found.append(("after", _text(self.after)))
        if self.minutes is not None:
            found.append(("minutes", _number(self.minutes)))
        if self.poured_cc is not None:
            found.append(("poured_cc", _number(self.poured_cc)))
        if self.valve_in is not None:
            pour = (
                f"valve_in = {'true' if self.valve_in else 'false'}, plate_recess_cc = {_number(self.plate_recess_cc)}"
            )
            pour += "" if self.to_seat is None else f", to_seat = {_number(self.to_seat)}"
            found.append(("pour", f"{{ {pour} }}"))
        return tuple(found)


def with_stage(text: str, file: str, port: str, stage: NewStage) -> str:
    """Return the text of a sound job file with a stage added at the end of a port's stages.

    Raises
    ------
    JobError
        Where there is no such port, it has a stage of that name, or its stages are not written as tables.
    """
    gathered = Gathered()
    newline = "\r\n" if "\r\n" in text else "\n"
    plain = text.replace("\r\n", "\n").removeprefix("\ufeff")
    old = tomllib.loads(plain)
    place = _place(old, port, stage, Spot(gathered, file, None, f"port {shown(port)}"))
    gathered.refuse()
    assert place is not None
    number, count = place
    header: KeyPath = ("port", number, "stage", count - 1)
    headers = header_lines(plain)
    start = next((line for line, path in headers if path == header), None)
    if start is None:
        written = Spot(gathered, file, None, f"port {shown(port)}: stage")
        written.fault("is written as a list on one line", "write each stage as a table of its own, [[port.stage]]")
        raise JobError(gathered.faults)
    end = min((line for line, path in headers if line > start and path[:4] != header), default=None)
    lines = text.split("\n")
    after = _last_of_block(lines, start, len(lines) + 1 if end is None else end)
    own = _block(lines[start - 1], lines[start:after], stage)
    put = [line + newline.removesuffix("\n") for line in ["", *own]]
    if after == len(lines):  # the last line of the file, which nothing ends
        lines[-1] += newline.removesuffix("\n")
        put[-1] = put[-1].removesuffix("\r")
    made = "\n".join([*lines[:after], *put, *lines[after:]])
    _must_add_only(old, made, number, stage, Spot(gathered, file, start, f"port {shown(port)}"))
    gathered.refuse()
    return made


def _place(old: dict[str, object], name: str, stage: NewStage, spot: Spot) -> tuple[int, int] | None:
    """Return which port it is and how many stages it has, or None after taking down why there is none."""
    ports = old.get("port")
    known = [p["name"] for p in ports] if isinstance(ports, list) else []
    if name not in known:
        spot.fault("is not a port of this job", nearest(name, known, what="port"))
        return None
    number = known.index(name)
    assert isinstance(ports, list)
    stages = ports[number]["stage"]
    for given in stages:
        if given["name"].casefold() == stage.name.casefold():
            spot.part(f"stage {shown(stage.name)}").fault(
                "is there already", "give this measuring a name of its own; the earlier one is kept"
            )
        if given["sections"] == stage.sections:
            spot.part(f"stage {shown(stage.name)}").fault(
                f"would have the same table as {shown(given['name'])}, {shown(stage.sections)}",
                "save the new readings as a table of their own",
            )
    return number, len(stages)


def _last_of_block(lines: Sequence[str], start: int, end: int) -> int:
    """Return how many lines of the file come before the new stage.

    Comments that run up to the next header belong to that; blank lines stay between.
    """
    last = end - 1
    while last > start and lines[last - 1].lstrip().startswith("#"):
        last -= 1
    if last > start and not lines[last - 1].strip():  # a blank line parts the comments before it from the next header
        while last > start and not lines[last - 1].strip():
            last -= 1
        return last
    if last < end - 1 and end <= len(lines):
        return last
    return end - 1


def _block(header: str, body: Sequence[str], stage: NewStage) -> list[str]:
    """Return the lines of the new stage, indented and spaced like the last one."""
    indent = header[: len(header) - len(header.lstrip())]
    keys = stage.written()
    first = next((line for line in body if line.strip().startswith("name") and "=" in line), "")
    width = len(first[: first.find("=")].lstrip()) - 1 if first else 0
    return [f"{indent}[[port.stage]]", *(f"{indent}{key:<{max(width, len(key))}} = {value}" for key, value in keys)]


def _must_add_only(old: dict[str, object], made: str, number: int, stage: NewStage, spot: Spot) -> None:
    """Take down a text that does not hold the old job with the new stage and nothing else."""
    wanted = copy.deepcopy(old)
    ports = wanted["port"]
    assert isinstance(ports, list)
    try:
        (new,) = tomllib.loads("\n".join(["[[stage]]", *(f"{k} = {v}" for k, v in stage.written())]))["stage"]
        ports[number]["stage"].append(new)
        # in words, in which a number that is none equals itself
        same = repr(tomllib.loads(made.replace("\r\n", "\n").removeprefix("\ufeff"))) == repr(wanted)
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        spot.fault("cannot take a stage without other lines being changed", "write the new [[port.stage]] by hand")


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def _number(value: float) -> str:
    return repr(float(value))
