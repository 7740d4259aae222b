"""Show makes pictures of the port as it is, after any pass and at its target, and of its walls."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image
from portgeom_cli.main import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"


def show(*options: str | Path, job: Path = EXAMPLE) -> Result:
    return CliRunner().invoke(main, ["show", str(job), "--port", "2", *map(str, options)])


def pixels(place: Path) -> np.ndarray:
    with Image.open(place) as image:
        return np.asarray(image.convert("RGB"), float)


def proud(picture: np.ndarray) -> int:
    """Return how many pixels above the colour bar have the orange of metal to take off."""
    red, green, blue = np.moveaxis(picture[: int(0.85 * len(picture))], -1, 0)
    return int(((red > 1.35 * blue) & (red > green)).sum())


def dark(picture: np.ndarray) -> int:
    """Return how many pixels above the colour bar have the dark orange of a wall under its limit."""
    red, _, blue = np.moveaxis(picture[: int(0.85 * len(picture))], -1, 0)
    return int(((red > 2.2 * blue) & (red > 60.0)).sum())


@pytest.fixture(scope="module")
def shots(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("shots")
    asked = {
        "now": (),
        "grooves": ("--after", "depth grooves"),
        "level": ("--after", "level the ribs"),
        "target": ("--after", "target"),
        "walls": ("--walls",),
        "walls then": ("--walls", "--after", "target"),
    }
    made = {}
    for name, options in asked.items():
        made[name] = folder / f"{name}.png"
        result = show("--drawn", "--out", made[name], "--width", "600", "--height", "400", *options)
        assert result.exit_code == 0, result.output
    return made


def test_every_picture_is_there_at_the_size_asked_for(shots: dict[str, Path]) -> None:
    for place in shots.values():
        assert pixels(place).shape == (400, 600, 3)


def test_pass_after_pass_less_stands_proud(shots: dict[str, Path]) -> None:
    left = [proud(pixels(shots[name])) for name in ("now", "level", "target")]
    assert left[0] > 1.2 * left[1] > 0
    assert left[2] < 0.02 * left[0]


def test_ports_fill_the_picture_alike_before_and_after(shots: dict[str, Path]) -> None:
    seen = [int((pixels(shots[n])[40:320].min(axis=2) < 240).sum()) for n in ("now", "grooves", "level", "target")]
    assert max(seen) < 1.03 * min(seen)


def test_walls_are_thin_under_the_bolt_hole_only_once_cut(shots: dict[str, Path]) -> None:
    # as cast every wall is over its limit, at the target the roof under the hole is not
    assert dark(pixels(shots["walls"])) == 0
    assert dark(pixels(shots["walls then"])) > 30


def test_pass_that_is_not_there_is_refused_with_those_that_are(tmp_path: Path) -> None:
    result = show("--after", "levelling", "--drawn", "--out", tmp_path / "a.png")
    assert result.exit_code == 2
    assert 'there is no pass "levelling"' in result.stderr
    assert '"depth grooves", "level the ribs"' in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_walls_of_a_port_with_nothing_behind_them_are_refused_with_the_mend(tmp_path: Path) -> None:
    job = Path(shutil.copytree(EXAMPLE, tmp_path / "job"))
    text = (job / "job.toml").read_text(encoding="utf-8")
    head, *parts = text.split("[[hazard]]")
    rest = "[[cutter]]" + parts[-1].split("[[cutter]]", 1)[1]
    (job / "job.toml").write_text(head + rest, encoding="utf-8")
    result = show("--walls", "--drawn", "--out", tmp_path / "a.png", job=job)
    assert result.exit_code == 2
    assert "add a [[hazard]]" in result.stderr
    assert not (tmp_path / "a.png").exists()


def test_drawn_asks_where_to(tmp_path: Path) -> None:
    result = show("--drawn")
    assert result.exit_code == 2
    assert "--out view.png" in result.stderr


def test_a_picture_that_is_there_is_not_written_over_unasked(tmp_path: Path) -> None:
    place = tmp_path / "a.png"
    place.write_bytes(b"mine")
    assert show("--drawn", "--out", place, "--width", "300", "--height", "200").exit_code == 2
    assert place.read_bytes() == b"mine"
