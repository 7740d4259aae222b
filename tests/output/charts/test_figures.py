"""A picture is the same each time, whatever words stand in it."""

from __future__ import annotations

import pytest

from portgeom.output.charts.figures import look, new_figure, png_bytes


def drawn(words: str) -> bytes:
    with look():
        figure = new_figure(3.0, 2.0)
        axes = figure.add_axes((0.2, 0.2, 0.7, 0.7))
        axes.plot([0.0, 0.123456789], [0.0, 1.0], "o-", clip_on=True)
        axes.text(0.05, 0.5, words)
        return png_bytes(figure, dpi=50)


@pytest.mark.parametrize("words", ["0.005 in2", "$x$ and $5", "\N{WRENCH}", r"\frac{"])
def test_any_words_are_drawn_the_same_each_time_without_a_warning(words: str) -> None:
    assert drawn(words) == drawn(words)
    assert drawn(words) != drawn("other")
