"""What is written on a template piece, and beside it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.units import length_from_mm
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.output.words.json_doc import Json, Numbers
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.output.words.text import heading
from portgeom.questions.templates.pieces import Piece, PieceKind

KIND_WORDS: dict[PieceKind, str] = {
    "plug": "plug gauge, as wanted",
    "cast": "plug gauge, as it is",
    "roof": "roof gauge, as wanted",
    "go": "GO",
    "no-go": "NO-GO",
    "side": "roof, as wanted",
}

NAME = 40
"""Longer names are cut: a piece has room for no more."""


@dataclass(frozen=True, slots=True)
class TemplateWords:
    """Words of one piece.

    Attributes
    ----------
    inside : tuple of str
        Lines on the piece, the most needed first.
    left, right : str
        Letters of the walls at the left and the right of the piece as drawn.
    caption : str
        All there is to say, beside the piece.
    """

    inside: tuple[str, ...]
    left: str
    right: str
    caption: str


def template_words(piece: Piece, port: LoftedPort, stage: LoftedStage, shown: Shown) -> TemplateWords:
    """Return what is written on and beside one piece of a port."""
    kind = kind_words(piece, shown)
    who = f"port {port.port.name}"
    if piece.kind == "side":
        return TemplateWords(
            (kind, who, "this end: handle,", "FACE at the first tick"), "", "", _strip(piece, port, shown)
        )
    where = where_words(piece, shown)
    seen = "from the chamber" if piece.from_chamber else "looking in"
    left, right = ("R", "L") if piece.from_chamber else ("L", "R")
    stands = f"sta {short(piece.station, 12)}, {shown.length(piece.distance_mm)}" if piece.station else where
    inside = (
        kind,
        who,
        stands,
        seen,
        stage.stage.name if piece.kind == "cast" else (port.port.target or "guessed line"),
    )
    return TemplateWords(inside, left, right, _caption(piece, port, stage, shown))


def kind_words(piece: Piece, shown: Shown) -> str:
    """Return what a piece is, its allowance with it."""
    if piece.kind == "go":
        return f"GO -{exact(piece.allowance_mm, shown)}"
    if piece.kind == "no-go":
        return f"NO-GO +{exact(piece.allowance_mm, shown)}"
    return KIND_WORDS[piece.kind]


def exact(length_mm: float, shown: Shown) -> str:
    """Return a length that a person gave, in all its digits."""
    return f"{length_from_mm(length_mm, shown.units):.6g} {shown.units}"


def where_words(piece: Piece, shown: Shown) -> str:
    """Return where a section piece belongs."""
    at = f"at {shown.length(piece.distance_mm)} along the path"
    if not piece.station:
        return at
    return f"station {short(piece.station, 12)}{f' ({piece.place})' if piece.place else ''}, {at}"


def _caption(piece: Piece, port: LoftedPort, stage: LoftedStage, shown: Shown) -> str:
    one = port.port
    left, right = short(one.left_wall, NAME), short(one.right_wall, NAME)
    seen = (
        "Seen from the chamber, roof up: left and right swapped."
        if piece.from_chamber
        else "Seen looking in, deck down."
    )
    dashed = f"Dashed: {short(stage.stage.name, NAME)}. "
    by = exact(piece.allowance_mm, shown)
    drawn = {
        "plug": dashed,
        "cast": "",
        "roof": f"{dashed}Lower edge level. ",
        "go": f"{by} inside the wanted outline all round: has to go in. ",
        "no-go": f"{by} outside the wanted outline all round: must not go in. ",
        "side": "",
    }[piece.kind]
    mirrored = " Mirrored port: turn the piece over for one that is not." if one.mirrored else ""
    what = short(stage.stage.name, NAME) if piece.kind == "cast" else _target(port)
    return (
        f"Port {short(one.name, NAME)}, {where_words(piece, shown)}: {kind_words(piece, shown)}; {what}. {drawn}{seen} "
        f"L {left}, R {right}. Hold it square to the path, which runs through the cross.{mirrored}"
    )


def _target(port: LoftedPort) -> str:
    name = port.port.target
    return f'target "{short(name, NAME)}"' if name else "the bridged roof, a guess"


def _strip(piece: Piece, port: LoftedPort, shown: Shown) -> str:
    step = "10 mm" if shown.units == "mm" else "half an inch"
    return (
        f"Port {short(port.port.name, NAME)}: roof along its middle, as wanted; {_target(port)}, to "
        f"{shown.length(piece.distance_mm)} along the path. Seen from the right, face at the left. Developed along the "
        "path: stand it upright on the path and slide its upper edge along the middle of the roof; where the port "
        f"turns sideways, bend it to follow. Short ticks every {step} along the roof from the face, long ones at the "
        "stations. Dashed: the roof as it is."
    )


def pieces_text(port: LoftedPort, stage: LoftedStage, pieces: Sequence[Piece]) -> str:
    """Return how many pieces of which kind there are."""
    counts = [(KIND_WORDS[k], sum(p.kind == k for p in pieces)) for k in KIND_WORDS]
    listed = "; ".join(f"{name}: {count}" for name, count in counts if count)
    return f"{heading(port, stage)}: {len(pieces)} pieces at 1:1 ({listed})"


def pieces_json(pieces: Sequence[Piece], n: Numbers) -> dict[str, Json]:
    """Return the entry of ``templates``, without port, stage and files."""
    return {
        "pieces": [
            {
                "kind": p.kind,
                "station": p.station or None,
                "distance": n.length(p.distance_mm),
                "area": n.area(p.area_mm2),
                "allowance": n.length(p.allowance_mm),
                "seen_from": "side" if p.kind == "side" else "chamber" if p.from_chamber else "face",
            }
            for p in pieces
        ]
    }
