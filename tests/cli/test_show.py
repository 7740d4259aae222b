"""Show makes pictures of the port as it is, after any pass and at its target, and of its walls."""

from __future__ import annotations

import shutil
from itertools import pairwise
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
        result = show("--drawn", "--out", made[name], "--size", "600,400", *options)
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
    assert show("--drawn", "--out", place, "--size", "300,200").exit_code == 2
    assert place.read_bytes() == b"mine"


def test_a_turntable_is_a_gif_or_a_folder_of_frames(tmp_path: Path) -> None:
    gif, folder = tmp_path / "turn.gif", tmp_path / "frames"
    assert show("--drawn", "--turntable", "3", "--out", gif, "--size", "300,200").exit_code == 0
    assert show("--drawn", "--turntable", "3", "--out", folder, "--size", "300,200").exit_code == 0
    with Image.open(gif) as image:
        assert (image.n_frames, image.size) == (3, (300, 200))
    frames = [pixels(p) for p in sorted(folder.iterdir())]
    assert [p.name for p in sorted(folder.iterdir())] == ["frame-001.png", "frame-002.png", "frame-003.png"]
    assert all(np.abs(a - b).mean() > 1.0 for a, b in pairwise(frames))
    assert show("--drawn", "--turntable", "3", "--out", folder, "--size", "300,200").exit_code == 2


def test_one_surface_as_vtp_and_all_as_vtm_with_every_field(tmp_path: Path) -> None:
    import pyvista

    one, every = tmp_path / "port.vtp", tmp_path / "all.vtm"
    assert show("--after", "target", "--vtk", one).exit_code == 0
    assert show("--vtk", every).exit_code == 0
    fields = {"proud_mm", "wall_left_mm", "distance_mm", "clock_deg", "depth_mm"}
    surface = pyvista.read(one)
    assert set(surface.point_data.keys()) == fields
    blocks = pyvista.read(every)
    names = [blocks.get_block_name(k) for k in range(blocks.n_blocks)]
    assert names[0] == "as cast"
    assert names[1:3] == ["after depth grooves", "after level the ribs"]
    assert "target" in names
    assert "behind: bolt hole" in names
    assert set(blocks["target"].point_data.keys()) == fields
    # the deepest cut of the example's port 2 lies under its boss, some 6 mm under the roof as cast
    assert 5.0 < blocks["target"]["depth_mm"].max() < 7.0
    assert blocks["as cast"]["depth_mm"].max() == 0.0
    assert show("--vtk", every).exit_code == 2
    assert show("--vtk", every, "--force").exit_code == 0


def test_sizes_and_names_of_files_that_cannot_be_are_refused(tmp_path: Path) -> None:
    for options, words in (
        (("--size", "300", "--out", tmp_path / "a.png"), "such as 1200,800"),
        (("--size", "1,1", "--out", tmp_path / "a.png"), "at least 200,150"),
        (("--vtk", tmp_path / "a.obj"), "ends in .vtp"),
        (("--turntable", "4"), "say where with --out turn.gif"),
    ):
        result = show(*options)
        assert result.exit_code == 2
        assert words in result.stderr.replace("\n", " ")
    assert list(tmp_path.iterdir()) == []


def test_a_picture_is_not_written_under_a_name_that_says_another_kind(tmp_path: Path) -> None:
    result = show("--drawn", "--out", tmp_path / "view.jpg")
    assert result.exit_code == 2
    assert "ends in .png" in result.stderr
    assert list(tmp_path.iterdir()) == []
