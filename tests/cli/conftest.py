"""Commands run on busy machines too: what says so after a second says nothing here unless a test asks for it."""

from __future__ import annotations

import pytest
from portgeom_cli import pacing


@pytest.fixture(autouse=True)
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let all work go without a word."""
    monkeypatch.setattr(pacing, "PATIENCE_S", 1e6)
