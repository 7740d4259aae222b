"""Text never becomes markup."""

from __future__ import annotations

import pytest

from portgeom.output.words.markup import element, items, paragraph, table, text

HOSTILE = "<script>alert(\"x\")</script> & 'q'"


@pytest.mark.parametrize(
    "made",
    [
        text(HOSTILE),
        paragraph(HOSTILE),
        items([HOSTILE]),
        table(HOSTILE, [HOSTILE], [[HOSTILE]]),
        element("a", text("x"), href=HOSTILE),
    ],
)
def test_hostile_text_comes_out_escaped(made):
    assert "<script" not in made
    assert "&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt;" in made


def test_tables_scroll_in_a_box_that_a_keyboard_reaches():
    made = table("Stations", ["station", "area"], [["1", "1967"]])
    assert made.startswith('<div class="scroll" tabindex="0" role="region" aria-label="Stations">')
    assert '<th scope="row">1</th><td class="number">1967</td>' in made
