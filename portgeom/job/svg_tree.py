"""Is an SVG safe to parse, and what tree of elements does it hold?

An SVG is XML from outside. Nothing that XML or SVG offers for reaching beyond the file, or for growing
without bound inside it, is let through to the parser: no document type, no entities of its own, no
reference to anything outside, no copies of copies.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from portgeom.job.drawing import DrawingError
from portgeom.job.faults import shown

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

SAVE = "save it again as plain SVG"

MOST_ELEMENTS = 50_000
MOST_LEVELS = 64

_ENCODING = re.compile(r"""<\?xml[^>]*\bencoding\s*=\s*["']([^"']*)["']""")
_OUTSIDE = re.compile(r"url\((?!#)|@import")


def svg_tree(data: bytes) -> Element:
    """Return the root element of an SVG's bytes.

    Raises
    ------
    DrawingError
        Where it is not UTF-8, has a document type, refers to anything outside itself, is no well-formed
        XML or no SVG, or is nested or sized beyond use.
    """
    text = _text(data)
    _refuse_declarations(text)
    root = _parsed(text)
    if local_name(root.tag) != "svg":
        raise DrawingError(f"is XML, but its root is {shown(local_name(root.tag))}, not svg", SAVE)
    _refuse_size_and_links(root)
    return root


def _text(data: bytes) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise DrawingError(f"byte {error.start} is not UTF-8", f"{SAVE}, in UTF-8") from error
    if "\x00" in text:
        raise DrawingError("holds zero bytes, so it is not UTF-8", f"{SAVE}, in UTF-8")
    said = _ENCODING.search(text[:1000])
    if said and said[1].casefold() not in ("utf-8", "utf8", "us-ascii", "ascii"):
        raise DrawingError(f"says it is in {shown(said[1])}", f"{SAVE}, in UTF-8")
    return text


def _refuse_declarations(text: str) -> None:
    """Refuse what the parser must not meet; comments and CDATA may hold anything and are passed over."""
    if text.count("<") > 2 * MOST_ELEMENTS:
        raise DrawingError(f"holds more than {MOST_ELEMENTS} elements", "save the outline alone")
    if "<?xml-stylesheet" in text:
        raise DrawingError("refers to a style sheet outside itself", SAVE)
    at = text.find("<!")
    while at >= 0:
        end = next((e for start, e in (("<!--", "-->"), ("<![CDATA[", "]]>")) if text.startswith(start, at)), None)
        if end is None:
            raise DrawingError("has a document type (<!DOCTYPE) or entities of its own", f"{SAVE}, without one")
        closed = text.find(end, at + 4)
        at = text.find("<!", closed) if closed >= 0 else -1  # one that never ends is told by the parser


def _parsed(text: str) -> Element:
    from xml.etree import ElementTree

    try:
        # as text in UTF-8 already, so what the file says of its encoding cannot change what was looked at
        return ElementTree.fromstring(re.sub(r"^\s*<\?xml.*?\?>", "", text, count=1, flags=re.DOTALL))
    except ElementTree.ParseError as error:
        line, column = error.position
        raise DrawingError(
            f"is not whole XML: line {line}, column {column + 1}: {error.msg.partition(':')[0]}",
            f"{SAVE}, or copy the whole file",
        ) from error


def _refuse_size_and_links(root: Element) -> None:
    waiting, count = [(root, 1)], 0
    while waiting:
        element, level = waiting.pop()
        count += 1
        if count > MOST_ELEMENTS:
            raise DrawingError(f"holds more than {MOST_ELEMENTS} elements", "save the outline alone")
        if level > MOST_LEVELS:
            raise DrawingError(f"is nested more than {MOST_LEVELS} deep", "ungroup what is in it")
        _refuse_links(element)
        waiting += [(child, level + 1) for child in element]


def _refuse_links(element: Element) -> None:
    for name, value in element.attrib.items():
        inside = local_name(name) != "href" or value.lstrip().startswith(("#", "data:"))
        if not inside or _leads_outside(value):
            raise DrawingError(f"refers to {shown(value)}, outside itself", f"{SAVE}, with nothing linked")
    if local_name(element.tag) == "style" and _leads_outside(element.text or ""):
        raise DrawingError("has a style that refers outside itself", f"{SAVE}, with nothing linked")


def _leads_outside(style: str) -> bool:
    """Return whether a style asks for anything that is not in the file, however it is spaced and quoted."""
    return bool(_OUTSIDE.search(re.sub(r"[\s\"']+", "", style).casefold()))


def local_name(name: object) -> str:
    """Return a name without its namespace; comments and instructions have no name at all."""
    return name.rpartition("}")[2] if isinstance(name, str) else ""
