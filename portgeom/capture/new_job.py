"""What files does a first job hold: job.toml with its comments, and a section table for each port?"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.kinds import DENSITY_G_CC, LONGEST_MM
from portgeom.job.units import mm_per_unit
from portgeom.job.values import PortKind, Units

EMPTY_COLUMNS = ("station", "distance", "pitch", "yaw", "shape", "width", "height", "radius", "across", "up", "place")
BENDS_FROM = 0.4
"""Part of the length after which a port, of which nothing is known but its turn, is taken to turn."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted of every port, in the job's own units: the roof's rise and how far each side wall moves out.

    One of the two at least is not 0.
    """

    raise_roof: float = 0.0
    widen: float = 0.0


@dataclass(frozen=True, slots=True)
class Guess:
    """A port by its ends: width, height and corner radius at the face, diameter at the throat, turn in degrees."""

    width: float
    height: float
    radius: float
    throat: float
    turn_deg: float


@dataclass(frozen=True, slots=True)
class FirstJob:
    """Answers to what a first job needs. Lengths in the job's own units.

    Attributes
    ----------
    material : str
        A name, or a density in g/cc in digits.
    distances : tuple of float
        Of the stations, from 0 on the face.
    guess : Guess or None
        Fills the tables with a first shape to be gauged over; None leaves the shapes blank.
    """

    title: str
    units: Units
    material: str
    ports: tuple[str, ...]
    kind: PortKind
    distances: tuple[float, ...]
    wish: Wish | None = None
    guess: Guess | None = None


def first_job(answers: FirstJob) -> dict[str, str]:
    """Return the files of a job folder by name. With no guess its tables wait for shapes to be filled in."""
    names = table_names(answers.ports)
    table = _guessed(answers, answers.guess) if answers.guess else _blank(answers)
    wanted = target_text(answers.wish, (answers.distances[0], answers.distances[-1]), answers.units)
    target = "wanted" if answers.wish else None
    ports = [
        port_text(name, answers.kind, file, target=target, alone=len(names) == 1, units=answers.units)
        for name, file in zip(answers.ports, names, strict=True)
    ]
    head = job_head(answers.title, answers.units, answers.material)
    return {"job.toml": "\n".join([head, *ports, wanted, later_text(answers.units)]), **dict.fromkeys(names, table)}


def job_head(title: str, units: Units, material: str) -> str:
    """Return the head of job.toml."""
    density = re.fullmatch(r"[0-9]+(\.[0-9]+)?", material)
    cast = (material if "." in material else f"{material}.0") if density else quoted(material)
    return f"""\
# Distances run along the port from the manifold face. Looking into the port from the face, deck down: right is
# right and the roof is up. `portgeom check` tells what is still missing.

title    = {quoted(title)}
units    = "{units}"  # of every length here and in the tables
material = {cast}  # "grey iron", "aluminium", or a density in g/cc
# min_wall = {3.0 / mm_per_unit(units):.3g}  # least metal you accept behind a wall
"""


def port_text(
    name: str, kind: PortKind, file: str, *, target: str | None, alone: bool, units: Units, guide: str = ""
) -> str:
    """Return the part of job.toml that names a port and its first stage.

    ``alone`` leaves out where the path starts, which a job of one port, or a table with places, need not say.
    """
    lines = ["[[port]]", f"name   = {quoted(name)}", f'kind   = "{kind}"']
    lines.append(f'target = "{target}"' if target else '# target = "wanted"')
    if not alone:
        up = example_length(60.0, units)
        lines.append(f"# position = [0.0, 0.0, {up}]  # where its path starts in the head; needed beside a hazard")
    stage = ["", "  [[port.stage]]", '  name     = "as cast"', f"  sections = {quoted(file)}"]
    return "\n".join([*lines, *([guide] if guide else []), *stage, "  # poured_cc = 180.0  # if it was poured", ""])


def target_text(wish: Wish | None, ends: tuple[float, float], units: Units) -> str:
    """Return the target of job.toml from the first distance to the last, as a comment where nothing is wished."""
    first, last = map(number, ends)
    asked = wish or (Wish(1.0, 0.5) if units == "mm" else Wish(0.04, 0.02))
    lines = ["[[target]]", 'name = "wanted"']
    if asked.raise_roof:
        rise = number(asked.raise_roof)
        lines.append(f"roof_raise = [[{first}, {rise}], [{last}, {rise}]]  # rows of distance, rise over as cast")
    if asked.widen:
        out = number(asked.widen)
        lines.append(f"widen = [[{first}, {out}, {out}], [{last}, {out}, {out}]]  # distance, left, right")
    text = "# What you want of the port. Without a roof line the roof is bridged as with a straightedge.\n"
    return text + "\n".join(line if wish else f"# {line}" for line in lines) + "\n"


def later_text(units: Units) -> str:
    """Return what a job may say later, as comments with an example in its own units."""
    x, near, low, high, wide = (example_length(mm, units) for mm in (10.0, 40.0, 55.0, 90.0, 11.0))
    return f"""\
# What is behind the walls, in the head frame: x to the right looking in, y into the port, z up from the deck.
# [[hazard]]
# name = "bolt hole"
# shape = "cylinder"
# start = [{x}, {near}, {low}]
# end = [{x}, {near}, {high}]
# diameter = {wide}
"""


def example_length(length_mm: float, units: Units) -> str:
    """Return a length of an example in the job's own units, as a person would write it.

    Examples
    --------
    >>> example_length(55.0, "mm"), example_length(55.0, "in")
    ('55.0', '2.17')
    """
    return f"{length_mm:.1f}" if units == "mm" else f"{length_mm / mm_per_unit(units):.2f}"


def _blank(answers: FirstJob) -> str:
    rows = [",".join(EMPTY_COLUMNS)]
    for i, s in enumerate(answers.distances, start=1):
        place = "face" if i == 1 else "throat" if i == len(answers.distances) else ""
        rows.append(f"{i},{number(s)},,,,,,,,,{place}")
    return "\n".join(rows) + "\n"


def _guessed(answers: FirstJob, guess: Guess) -> str:
    """Return a table that runs from a radiused rectangle at the face to a round throat."""
    s = np.array(answers.distances, dtype=np.float64)
    part = s / s[-1]
    ahead = np.clip((part - BENDS_FROM) / (1.0 - BENDS_FROM), 0.0, 1.0)
    rows = [",".join(EMPTY_COLUMNS)]
    for i, (at, w, bend) in enumerate(zip(s, part, ahead, strict=True), start=1):
        pitch = number(round(float(guess.turn_deg * bend), 2))
        if i == len(s):
            rows.append(f"{i},{number(at)},{pitch},0,circle,{number(guess.throat)},,,0,0,throat")
            continue
        width, height = ((1.0 - w) * size + w * guess.throat for size in (guess.width, guess.height))
        round_here = (1.0 - w) * guess.radius / min(guess.width, guess.height) + w * 0.5
        radius = np.floor(1e4 * round_here * min(width, height)) / 1e4  # never longer than half a side
        cells = ",".join(number(round(float(x), 4)) for x in (width, height, radius))
        rows.append(f"{i},{number(at)},{pitch},0,rectangle,{cells},0,0,{'face' if i == 1 else ''}")
    return "\n".join(rows) + "\n"


def table_names(ports: Sequence[str]) -> tuple[str, ...]:
    """Return a file name for each port's table: made of its own name, plain on every system, no two alike.

    Examples
    --------
    >>> table_names(["2", "No. 3", "no-3"])
    ('port-2-cast.csv', 'port-no-3-cast.csv', 'port-no-3-b-cast.csv')
    """
    names: list[str] = []
    for port in ports:
        stem = re.sub(r"[^a-z0-9]+", "-", port.casefold())[:40].strip("-") or "x"
        name = f"port-{stem}-cast.csv"
        letters = iter("bcdefghijklmnopqrstuvwxyz")
        while name in names:
            name = f"port-{stem}-{next(letters)}-cast.csv"
        names.append(name)
    return tuple(names)


def quoted(text: str) -> str:
    """Return text as a TOML string; JSON's escapes are TOML's."""
    return json.dumps(text, ensure_ascii=False)


def number(value: float) -> str:
    """Return a number in as few digits as say it to six places.

    Examples
    --------
    >>> number(12.0), number(0.30000000000000004)
    ('12.0', '0.3')
    """
    return repr(round(float(value), 6) + 0.0)


MOST_STATIONS = 200


def numbers_of(text: str) -> tuple[float, ...]:
    """Return the numbers in a text, with blanks, commas or semicolons between; raises ValueError on anything else."""
    parts = text.replace(",", " ").replace(";", " ").split()
    if not 1 <= len(parts) <= MOST_STATIONS:
        raise ValueError(f"{len(parts)} numbers; give from 1 to {MOST_STATIONS}")
    numbers = []
    for part in parts:
        try:
            value = float(part)
        except ValueError:
            value = math.nan
        if not abs(value) <= LONGEST_MM:
            raise ValueError(f"{part!r} is not a number that can be a length; write it as 41.5")
        numbers.append(value)
    return tuple(numbers)


def distances_of(text: str) -> tuple[float, ...]:
    """Return distances along the port as a person types them; raises ValueError where they are none.

    Examples
    --------
    >>> distances_of("0, 12.5 30")
    (0.0, 12.5, 30.0)
    """
    numbers = numbers_of(text)
    if len(numbers) < 2 or numbers[0] != 0.0:
        raise ValueError("distances begin with 0, on the manifold face, and are two or more")
    if any(b <= a for a, b in pairwise(numbers)):
        raise ValueError("distances must rise, each given once")
    return numbers


def size_of(text: str) -> tuple[float, float, float]:
    """Return width, height and corner radius; raises ValueError where they make no section.

    Examples
    --------
    >>> size_of("41.5 x 49.9 x 11")
    (41.5, 49.9, 11.0)
    """
    numbers = numbers_of(text.casefold().replace("x", " "))
    if len(numbers) not in (2, 3) or min(numbers) < 0.0 or min(numbers[:2]) == 0.0:
        raise ValueError(f"{text!r} is no section; give width, height and corner radius as 40x48x11")
    width, height, radius = (*numbers, 0.0)[:3]
    if 2.0 * radius > min(width, height):
        what = f"corner radius {radius:g} is longer than half a side of {width:g} by {height:g}"
        raise ValueError(f"{what}; give a smaller one")
    return width, height, radius


def material_of(text: str) -> str:
    """Return a material by name, or a density as digits; raises ValueError where it is neither."""
    plain = text.strip()
    if plain in DENSITY_G_CC:
        return plain
    if re.fullmatch(r"[0-9]{1,2}(\.[0-9]{1,4})?", plain) and 1.0 <= float(plain) <= 20.0:
        return plain
    raise ValueError(f"{plain!r} is not known; write {' or '.join(DENSITY_G_CC)}, or a density from 1 to 20 g/cc")


def spaced(length: float, count: int) -> F64:
    """Return ``count`` distances from 0 to ``length``, evenly spaced and rounded to what is marked on a rod."""
    return frozen(np.round(np.linspace(0.0, length, count), 2))
