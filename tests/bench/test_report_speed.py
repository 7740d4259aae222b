"""How long does the report of a whole head take, from the command line to the file, and how large is it?

Not run with the tests: these measure. The head is the example's pair, four times over, side by side.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"
PITCH_MM = 128.0
"""From a pair to the next along the head."""

OF_A_PORT = {"port", "hazard", "flow"}
ALONG = re.compile(r"(?<=\[)(-?\d+\.\d+)(?=, -?\d+\.\d+, -?\d+\.\d+\])")
NUMBER = re.compile(r'(?<=")([12])(?=")|(?<=(?:hole|seat) )([12])(?=")')


def head(folder: Path, *, pairs: int, passes: int) -> Path:
    """Return the folder of a job whose ports are the example's pair several times over, with its first passes."""
    shutil.copytree(EXAMPLE, folder)
    blocks = re.split(r"\n(?=\[)", (EXAMPLE / "job.toml").read_text(encoding="utf-8"))
    written: list[str] = []
    cut = 0
    for block in blocks:
        kind = block.split("\n", 1)[0].strip("[]")
        if kind in OF_A_PORT:
            shared = "normal" in block
            written += [_moved(block, k) for k in range(1 if shared else pairs)]
        elif kind != "pass" or cut < passes:
            cut += kind == "pass"
            written.append(block)
    written.sort(key=lambda b: b.startswith("[["))  # a table of many closes what stands above it
    (folder / "job.toml").write_text("\n\n".join(written), encoding="utf-8")
    return folder


def _moved(block: str, pair: int) -> str:
    """Return the block of a port, of what lies behind it, or of its bench, moved along the head."""
    block = ALONG.sub(lambda m: f"{float(m[1]) + PITCH_MM * pair:.1f}", block)
    block = block.replace("bolt hole", "bolt hole 2")
    return NUMBER.sub(lambda m: str(int(m[0]) + 2 * pair), block)


@pytest.mark.parametrize(("ports", "passes", "limit_s"), [(8, 3, 5.0), (16, 6, 15.0)])
def test_a_whole_head_takes_seconds_and_fits_a_letter(ports: int, passes: int, limit_s: float, tmp_path: Path) -> None:
    job = head(tmp_path / "head", pairs=ports // 2, passes=passes)
    page = tmp_path / "page.html"
    command = [
        sys.executable,
        "-c",
        "from portgeom_cli.main import main; main()",
        "report",
        str(job),
        "--out",
        str(page),
    ]
    compiled = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    taken = []
    for _ in range(4):
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True, env=compiled)
        taken.append(time.perf_counter() - start)
    size = page.stat().st_size
    print(f"\n{ports} ports, {passes} passes: {min(taken):.2f} to {max(taken):.2f} s, {size / 1e6:.2f} MB")
    assert size <= 8_000_000
    assert min(taken) <= limit_s
