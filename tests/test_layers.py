"""Imports run one way: the command line at the top, geometry at the bottom."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ORDER = ("geometry", "job", "model", "capture", "questions", "output", "cli")
HEAVY = ("numpy", "scipy", "shapely", "trimesh", "manifold3d", "matplotlib", "pyvista", "vtkmodules")


def layer_of(module: str) -> str | None:
    name, *rest = module.split(".")
    return "cli" if name == "portgeom_cli" else rest[0] if name == "portgeom" and rest else None


def imported(path: Path) -> set[str]:
    nodes = list(ast.walk(ast.parse(path.read_text("utf-8"))))
    modules = {n.module for n in nodes if isinstance(n, ast.ImportFrom) and n.module and n.level == 0}
    return modules | {a.name for n in nodes if isinstance(n, ast.Import) for a in n.names}


@pytest.mark.parametrize("layer", ORDER)
def test_no_module_imports_one_above_it(layer: str) -> None:
    folder = ROOT / "cli" if layer == "cli" else ROOT / "portgeom" / layer
    files = list(folder.rglob("*.py"))
    assert files
    for path in files:
        above = {m for m in imported(path) if (of := layer_of(m)) and ORDER.index(of) > ORDER.index(layer)}
        assert not above, f"{path.relative_to(ROOT)} imports {above}"


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["profile", "--help"]])
def test_help_imports_nothing_heavy(arguments: list[str]) -> None:
    code = f"import sys; from portgeom_cli.main import main\ntry: main({arguments!r})\nexcept SystemExit: pass\n"
    code += f"print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.splitlines()[-1] == "[]"
