"""Drawings can share a page, fetch nothing, and keep the digits a person reads."""

from __future__ import annotations

import re

from portgeom.output.charts.figures import look, new_figure, png_bytes, svg_file, svg_text


def drawn(words="0.005 in2"):
    figure = new_figure(3.0, 2.0)
    axes = figure.add_axes((0.2, 0.2, 0.7, 0.7))
    axes.plot([0.0, 0.123456789], [0.0, 1.0], "o-", clip_on=True)
    axes.text(0.05, 0.5, words)
    return figure


def test_numbers_in_words_keep_their_digits():
    with look():
        assert "3.16497 in2" in svg_text(drawn("3.16497 in2"), name="a", describe="x")


def test_numbers_in_paths_are_shortened():
    with look():
        text = svg_text(drawn(), name="a", describe="x")
    assert not re.search(r'd="[^"]*\d\.\d{3}', text)


def test_every_id_carries_the_prefix_and_every_reference_follows_it():
    with look():
        text = svg_text(drawn(), name="port-7", describe="x")
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert ids
    assert all(i.startswith("port-7-") for i in ids)
    references = re.findall(r'href="#([^"]+)"', text) + re.findall(r"url\(#([^)]+)\)", text)
    assert references
    assert set(references) <= set(ids)


def test_nothing_is_fetched_and_nothing_tells_the_date():
    with look():
        text = svg_text(drawn(), name="a", describe="x")
    assert "http" not in text
    assert "<!--" not in text
    assert "metadata" not in text


def test_text_stays_text_and_cannot_become_markup():
    with look():
        text = svg_text(drawn("<script>alert(1)</script>"), name="a", describe='"><script>')
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text
    assert "<script" not in text


def test_a_dollar_sign_is_a_dollar_sign():
    with look():
        assert "$x$ and $5" in svg_text(drawn("$x$ and $5"), name="a", describe="x")


def test_a_character_without_a_glyph_does_not_warn():
    with look():
        assert "\N{WRENCH}" in svg_text(drawn("\N{WRENCH}"), name="a", describe="x")


def test_files_are_the_same_each_time():
    with look():
        assert svg_file(drawn(), describe="x") == svg_file(drawn(), describe="x")
        assert png_bytes(drawn(), dpi=50) == png_bytes(drawn(), dpi=50)


def test_a_file_is_a_whole_document():
    from lxml import etree

    with look():
        root = etree.fromstring(svg_file(drawn(), describe="a < b"))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert root.findtext("{http://www.w3.org/2000/svg}title") == "a < b"
