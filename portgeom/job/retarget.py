"""How does a job's text come to name other targets, with every comment and line kept?"""

from __future__ import annotations

import re
from collections.abc import Mapping

from portgeom.job.lines import key_lines

_VALUE = re.compile(r"""(=\s*)("(?:\\.|[^"\\])*"|'[^']*')""")


def with_targets(text: str, named: Mapping[int, str]) -> str:
    """Return the text of a job in which ports, by their place in it from 0, are held against other targets.

    ``named`` gives each its target as a TOML string, quotes and all. A port without a target gets one below its
    header.
    """
    lines = text.split("\n")
    places = key_lines(text)
    added: list[tuple[int, str]] = []
    for port, target in named.items():
        own = places.get(("port", port, "target"))
        line = "" if own is None else lines[own - 1]
        found = _VALUE.search(line)
        if own is not None and found is not None:
            lines[own - 1] = line[: found.start(2)] + target + line[found.end(2) :]
        else:
            added.append((places["port", port], f"target = {target}"))
    for below, words in sorted(added, reverse=True):
        lines.insert(below, words)
    return "\n".join(lines)
