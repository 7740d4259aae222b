"""``mesh``: the solids as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..numbers import Finite
from ..options import job_argument, json_option, open_job, port_option, stage_option, tells_faults
from ..pacing import in_turn
from ..saying import talk

if TYPE_CHECKING:
    from portgeom.output.files.mesh_files import Format
    from portgeom.output.words.json_doc import Json


@click.command("mesh")
@job_argument
@port_option
@stage_option
@json_option
@click.option(
    "--out",
    "folder",
    type=click.Path(path_type=Path),
    default=Path("solids"),
    show_default=True,
    help="Folder for the files.",
)
@click.option(
    "--format",
    "kind",
    type=click.Choice(["stl", "ply", "3mf", "glb"]),
    default="stl",
    show_default=True,
    help="Kind of file. GLB is in metres with y up, the others in mm.",
)
@click.option("--slab", "slab_mm", type=Finite(0.1, 10.0), default=0.5, show_default=True, help="Longest slab, mm.")
@click.option("--rays", type=click.IntRange(32, 2048), default=256, show_default=True, help="Rays round a section.")
@click.option("--force", is_flag=True, help="Write over files that are there.")
@tells_faults
def command(
    job_path: Path,
    port_names: tuple[str, ...],
    stage_name: str | None,
    as_json: bool,
    folder: Path,
    kind: Format,
    slab_mm: float,
    rays: int,
    force: bool,
) -> None:
    """The passage as it is, the passage wanted, and the metal between, each a closed solid.

    All in the head frame: x to the right looking in, y into the port, z up from the deck.
    """
    from portgeom.geometry.chart import Resolution
    from portgeom.model.bound import mesh_bound_mm
    from portgeom.output.files.mesh_files import file_stems, write_solid
    from portgeom.output.words.json_doc import cc, document
    from portgeom.questions.shape.removal import removal
    from portgeom.questions.shape.solids import port_solids
    from portgeom.questions.whole import wanted_of

    opened = open_job(job_path, port_names, stage_name, None, resolution=Resolution(slab_mm, rays))
    job = opened.job
    solids = []
    for port, stage in in_turn(opened.chosen, "solids", lambda chosen: f"port {chosen[0].port.name}"):
        metal = removal(port, stage, wanted_of(job, opened.ports, port), density_g_cc=job.density_g_cc)
        solids += [(port, stage, part) for part in port_solids(stage, metal)]
    stems = file_stems([(p.port.name, s.stage.name, part.what) for p, s, part in solids])
    paths = [folder / f"{stem}.{kind}" for stem in stems]
    there = [str(path) for path in paths if path.exists()]
    if there and not force:
        raise FileExistsError(f"{', '.join(there)}: there already; name another folder, or say --force")
    bounds = {(p.port.name, s.stage.name): mesh_bound_mm(s) for p, s in opened.chosen}
    entries: list[Json] = []
    lines = []
    for (port, stage, part), path in zip(solids, paths, strict=True):
        written = write_solid(part.solid, path, kind=kind, name=path.stem, force=force)
        entries.append(
            {
                "port": port.port.name,
                "stage": stage.stage.name,
                "solid": part.what,
                "file": str(path),
                "triangles": written.triangles,
                "volume_cc": cc(written.volume_mm3),
                "sections_cc": cc(part.formula_mm3),
                "within_mm": round(bounds[port.port.name, stage.stage.name], 4),
            }
        )
        lines.append(
            f"{path}: port {port.port.name}, {part.what}, {written.triangles} triangles, "
            f"{written.volume_mm3 / 1000.0:.2f} cc (by the sections {part.formula_mm3 / 1000.0:.2f} cc)"
        )
    lines += [
        f"Port {port}, {stage}: at this resolution the mesh lies within {bound:.3f} mm of the sections and the "
        "surface drawn through them."
        for (port, stage), bound in bounds.items()
    ]
    if as_json:
        click.echo(document("mesh", opened.units, entries))
    else:
        talk("\n".join(lines))
