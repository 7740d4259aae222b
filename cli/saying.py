"""How do words get to a person: answers at the width of their terminal, talk that can be hushed, letters they have?"""

from __future__ import annotations

import codecs
import shutil
import sys
import textwrap
import unicodedata

import click

HUSHED = "portgeom.quiet"
IN_PLACE, ASCII = "portgeom-in-place", "portgeom-ascii"
WIDEST = 100
"""Longer lines are hard to read, however wide the terminal is."""

PLAIN = {
    "\u2026": "...",
    "\u00b0": " deg",
    "\u2013": "-",
    "\u2014": "-",
    "\u2212": "-",
    "\u00b7": "-",
    "\u00d7": "x",
    "\u2192": "->",
}
"""What stands in for letters that a terminal has not."""


def hushable(command: click.Command) -> click.Command:
    """Return a command, and those below it, with ``--quiet`` among the options."""
    if not any("--quiet" in p.opts for p in command.params):
        command.params.append(
            click.Option(
                ["-q", "--quiet"],
                is_flag=True,
                expose_value=False,
                callback=_hush,
                help="Say only what was asked for, and faults.",
            )
        )
    for below in getattr(command, "commands", {}).values():
        hushable(below)
    return command


def _hush(context: click.Context, _: click.Parameter, value: bool) -> None:
    if value:
        context.meta[HUSHED] = True


def quiet() -> bool:
    """Return whether the person asked for no talk."""
    context = click.get_current_context(silent=True)
    return bool(context and context.meta.get(HUSHED))


def say(words: str) -> None:
    """Write an answer to standard output; on a terminal, broken at its width."""
    click.echo(laid_out(words, _terminal_width()) if _is_terminal(sys.stdout) else words)


def talk(words: str, *, err: bool = False) -> None:
    """Write what was not asked for, such as where a file lies; nothing where the person wants quiet."""
    if quiet():
        return
    terminal = _is_terminal(sys.stderr if err else sys.stdout)
    click.echo(laid_out(words, _terminal_width()) if terminal else words, err=err)


def laid_out(words: str, wide: int) -> str:
    """Return words with lines over a width broken at spaces, the rest of each further in than its beginning.

    A line that is drawn, or stands in a table, stays as it is: it has gaps inside that mean something.
    """
    lines = []
    for line in words.split("\n"):
        start = len(line) - len(line.lstrip())
        if len(line) <= wide or "  " in line.strip():
            lines.append(line)
            continue
        inner = " " * min(start + 4, 12)
        lines += textwrap.wrap(
            line.strip(),
            wide,
            initial_indent=" " * start,
            subsequent_indent=inner,
            break_long_words=True,
            break_on_hyphens=False,
        )
    return "\n".join(lines)


def letters_that_are_there() -> None:
    """Let words pass to a terminal or a log that has not all letters: others take their place, and nothing fails."""
    codecs.register_error(IN_PLACE, _in_place)
    codecs.register(lambda name: _ascii() if name == ASCII.replace("-", "_") else None)
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        known = (getattr(stream, "encoding", None) or "utf-8").lower()
        if reconfigure is None or known.replace("-", "").startswith("utf"):
            continue
        # whatever calls itself ASCII is taken by the command line's library for a mistake and given UTF-8
        reconfigure(encoding=ASCII if codecs.lookup(known).name == "ascii" else known, errors=IN_PLACE)


def _ascii() -> codecs.CodecInfo:
    """Return ASCII under another name."""
    plain = codecs.lookup("ascii")
    return codecs.CodecInfo(
        plain.encode,
        plain.decode,
        plain.streamreader,
        plain.streamwriter,
        plain.incrementalencoder,
        plain.incrementaldecoder,
        name=ASCII,
    )


def _in_place(error: UnicodeError) -> tuple[str, int]:
    """Return letters in place of those that cannot be encoded.

    What has none is spelled as a JSON string would be, so that a document stays one.
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    out = []
    for letter in error.object[error.start : error.end]:
        plain = PLAIN.get(letter) or unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode("ascii")
        units = letter.encode("utf-16-be", "surrogatepass")
        spelled = "".join(f"\\u{units[k] << 8 | units[k + 1]:04x}" for k in range(0, len(units), 2))
        out.append(plain or spelled)
    return "".join(out), error.end


def _is_terminal(stream: object) -> bool:
    asked = getattr(stream, "isatty", None)
    return bool(asked and asked())


def _terminal_width() -> int:
    return max(40, min(WIDEST, shutil.get_terminal_size((80, 24)).columns - 1))
