"""Which pages there are: columns for up to four ports, signed once, cautions on each kind."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from pypdf import PdfReader

from portgeom.job.receipt_values import Receipt
from portgeom.job.values import Job
from portgeom.output.paper.blocks import leaf_text
from portgeom.output.paper.blocks_pdf import leaves_pdf
from portgeom.output.paper.handover_leaves import handover_leaves, receipt_leaf, valves_leaf
from portgeom.output.paper.paper import Paper
from portgeom.output.words.handover_cautions import HANDED_OVER, RECEIVED
from portgeom.output.words.shown import Shown
from portgeom.questions.handover.record import PlaceAreas, PortRecord, StageRecord
from portgeom.questions.shape.profile import AreaAt

MM = Shown("mm")
CAST = StageRecord("as cast", 210_500.0, 206.0, 46.0, 88.5, AreaAt(42.0, 1518.0))
DONE = StageRecord("finished", 224_100.0, 219.4, 46.2, 88.8, AreaAt(42.0, 1649.0))
PLACES = tuple(PlaceAreas(p, 1966.0, 2017.0) for p in ("face", "pinch", "turn", "bowl", "throat"))
BARE = Job(Path(), "A head", "mm", "grey iron", 7.2, ())


def records(count: int) -> list[PortRecord]:
    return [PortRecord(str(k + 1), "intake", CAST, DONE, PLACES, ()) for k in range(count)]


@pytest.mark.parametrize(("ports", "leaves"), [(1, 1), (4, 1), (5, 2), (8, 2), (12, 3)])
def test_four_ports_stand_side_by_side_and_the_last_page_is_signed(ports: int, leaves: int) -> None:
    made = handover_leaves(BARE, records(ports), MM, report="r.html")
    assert len(made) == leaves
    titles = [[p.title for p in leaf.filled] for leaf in made]
    assert all("Signed" not in t for t in titles[:-1])
    assert titles[-1][-2:] == ["Cautions", "Signed"]
    assert [leaf.link is not None for leaf in made] == [False] * (leaves - 1) + [True]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("ports", [2, 4])
def test_up_to_four_ports_are_one_sheet(ports: int, paper: Paper) -> None:
    pdf = leaves_pdf("t", handover_leaves(BARE, records(ports), MM), paper=paper)
    assert len(PdfReader(io.BytesIO(pdf)).pages) == 1


def test_a_handover_without_more_tells_only_what_was_measured_and_the_cautions() -> None:
    (leaf,) = handover_leaves(BARE, records(1), MM)
    assert [p.title for p in leaf.filled] == ["Measured", "Cautions", "Signed"]
    told = leaf_text(leaf)
    assert all(line in told for line in HANDED_OVER)
    assert "Signed" not in told


def test_a_receipt_has_its_cautions_and_nothing_that_was_not_looked_at() -> None:
    from dataclasses import replace

    leaf = receipt_leaf(replace(BARE, receipt=Receipt(head="7")), MM)
    assert [p.title for p in leaf.filled] == ["The head as it came in", "To know", "Signed"]
    told = leaf_text(leaf)
    assert all(line in told for line in RECEIVED)
    assert "pressure test" not in told


def test_no_valve_job_is_no_page() -> None:
    assert valves_leaf(BARE, [], None, MM).filled == ()
