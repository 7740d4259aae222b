"""What a mould slice says of the port, and what calipers say of the slice."""

from __future__ import annotations

import pytest

from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.mould import Calipers, Mould, caliper_words, mould


def test_a_mould_shrunk_by_two_percent_is_grown_to_the_port() -> None:
    assert 98.0 * Mould("entry", 2.0, 0.0).growth == pytest.approx(100.0)


@pytest.mark.parametrize(("scanned", "beyond", "mirrored"), [("entry", 0.4, False), ("far", -0.4, True)])
def test_each_face_lies_half_a_kerf_from_its_mark(scanned: str, beyond: float, mirrored: bool) -> None:
    cut = mould(scanned, 0.5, 0.8)
    assert (cut.beyond_mark_mm, cut.mirrored) == (beyond, mirrored)


@pytest.mark.parametrize(("shrink", "kerf", "about"), [(-0.1, 1.0, "shrink"), (6.0, 1.0, "shrink"), (0.3, 6.0, "kerf")])
def test_a_mould_out_of_range_is_refused(shrink: float, kerf: float, about: str) -> None:
    with pytest.raises(Unsure, match="is out of range") as refused:
        mould("entry", shrink, kerf)
    assert refused.value.about == about


@pytest.mark.parametrize(
    ("read", "words"),
    [
        (Calipers(40.0, 50.0), ()),
        (Calipers(40.25, 49.75), ()),
        (Calipers(39.2, 49.0), ("both are 2.0 percent too large", "areas would be wrong by 4.1 percent")),
        (Calipers(50.0, 40.0), ("width and height are swapped",)),
        (Calipers(40.0, 51.0), ("off by different shares",)),
        (Calipers(41.0, None), ("read the other way too",)),
    ],
)
def test_calipers_are_compared_in_words(read: Calipers, words: tuple[str, ...]) -> None:
    said = " ".join(caliper_words(read, 40.0, 50.0))
    assert bool(said) == bool(words)
    assert all(w in said for w in words)
