"""Is every folder of code in the wheel? A folder left out works from the tree and is missing once installed."""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent


def folders(top: str, name: str) -> set[str]:
    inits = (ROOT / top).rglob("__init__.py")
    return {".".join([name, *p.parent.relative_to(ROOT / top).parts]) for p in inits}


def test_the_package_list_names_every_folder_that_holds_code() -> None:
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["packages"]
    assert set(listed) == folders("portgeom", "portgeom") | folders("cli", "portgeom_cli")
    assert len(listed) == len(set(listed))


def test_every_folder_of_code_is_a_package() -> None:
    for top in ("portgeom", "cli"):
        for path in (ROOT / top).rglob("*.py"):
            assert (path.parent / "__init__.py").exists(), path
