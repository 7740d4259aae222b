"""Outlines out of SVG drawings, against closed forms; and what an SVG must not do."""

from __future__ import annotations

from math import cos, pi, radians

import pytest

from portgeom.job.drawing import DrawingError, read_drawing

W, H, R = 41.5, 49.9, 11.0
RADIUSED = W * H - (4.0 - pi) * R**2
RECT = f'<rect x="{-W / 2}" y="{-H / 2}" width="{W}" height="{H}" rx="{R}"/>'
OPEN = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
IN_MM = OPEN + 'width="120mm" height="80mm" viewBox="-60 -40 120 80">{}</svg>'


def area(text: str, **options: str) -> float:
    return read_drawing(text.encode("utf-8"), ".svg", **options).outline.area_mm2


def rounded_path(w: float, h: float, r: float) -> str:
    return (
        f"M {r - w / 2} {-h / 2} h {w - 2 * r} a {r} {r} 0 0 1 {r} {r} v {h - 2 * r} a {r},{r} 0 0 1 {-r},{r} "
        f"H {r - w / 2} A {r} {r} 0 0 1 {-w / 2} {h / 2 - r} V {r - h / 2} a {r} {r} 0 01{r} {-r} z"
    )


@pytest.mark.parametrize("shape", [RECT, f'<path d="{rounded_path(W, H, R)}"/>'], ids=["rect", "path"])
def test_a_radiused_rectangle_has_its_area(shape: str) -> None:
    assert area(IN_MM.format(shape)) == pytest.approx(RADIUSED, rel=1e-4)


@pytest.mark.parametrize(
    "shape",
    [
        '<ellipse cx="4" cy="3" rx="25" ry="18"/>',
        '<path d="M29 3 A25 18 0 0 1 -21 3 A25,18 0 0129 3z"/>',
        '<circle r="1" transform="translate(4 3) scale(25 18)"/>',
    ],
)
def test_an_ellipse_has_its_area_and_lies_where_it_is_drawn_with_v_upwards(shape: str) -> None:
    outline = read_drawing(IN_MM.format(shape).encode(), ".svg").outline
    assert outline.area_mm2 == pytest.approx(pi * 25.0 * 18.0, rel=1e-4)
    assert outline.centroid_mm == pytest.approx([4.0, -3.0], abs=1e-6)


def test_polygons_and_curves_have_their_areas() -> None:
    assert area(IN_MM.format('<polygon points="0,0 30,0 30,10 10,10 10,40 0,40"/>')) == pytest.approx(600.0)
    # two thirds of base times height under a parabola (Archimedes)
    parabola = area(IN_MM.format('<path d="M-20 0 Q0 -40 20 0 Z"/>'))
    assert parabola == pytest.approx(2.0 / 3.0 * 40.0 * 20.0, rel=1e-4)
    # the same raised to a cubic
    cubic = area(IN_MM.format(f'<path d="M-20 0 C{-20 / 3} {-80 / 3} {20 / 3} {-80 / 3} 20 0 z"/>'))
    assert cubic == pytest.approx(parabola, rel=1e-4)


def test_nested_transforms_are_applied_from_the_inside_out() -> None:
    inner = f'<g transform="translate(3 4)"><g transform="scale(1.5,-2)">{RECT}</g></g>'
    drawn = read_drawing(IN_MM.format(f'<g transform="rotate(90)">{inner}</g>').encode(), ".svg").outline
    assert drawn.area_mm2 == pytest.approx(RADIUSED * 1.5 * 2.0, rel=1e-4)
    # (0, 0) goes to (3, 4), a quarter turn with y down to (-4, 3), and v is up
    assert drawn.centroid_mm == pytest.approx([-4.0, -3.0], abs=1e-6)
    assert drawn.width_mm == pytest.approx(2.0 * H)
    skewed = area(IN_MM.format(f'<g transform="matrix(2 0 0 1 5 5) skewX(20)">{RECT}</g>'))
    assert skewed == pytest.approx(2.0 * RADIUSED, rel=1e-4)
    turned = area(IN_MM.format(f'<g transform="rotate(30, 5, 5) scale({cos(radians(60.0))})">{RECT}</g>'))
    assert turned == pytest.approx(0.25 * RADIUSED, rel=1e-4)


@pytest.mark.parametrize(
    ("head", "mm"),
    [
        ('width="120mm" height="80mm" viewBox="0 0 120 80"', 1.0),
        ('width="4in" height="2in" viewBox="0 0 4 2"', 25.4),
        ('width="4in" viewBox="0 0 8 4"', 12.7),
        ('width="12cm" height="8cm" viewBox="0 0 1200 800"', 0.1),
    ],
)
def test_width_height_and_view_box_say_how_large_the_unit_is(head: str, mm: float) -> None:
    assert area(f'{OPEN}{head}><circle r="2"/></svg>') == pytest.approx(pi * (2.0 * mm) ** 2, rel=1e-4)


def test_shapes_measured_in_inches_or_mm_need_no_view_box() -> None:
    assert area(f'{OPEN}><circle r="0.8in"/></svg>') == pytest.approx(pi * (0.8 * 25.4) ** 2, rel=1e-4)
    rect = '<rect x="-20mm" y="-1in" width="41.5mm" height="49.9mm" ry="11mm"/>'
    assert area(f"{OPEN}>{rect}</svg>") == pytest.approx(RADIUSED, rel=1e-4)


@pytest.mark.parametrize(
    "head",
    ["", 'width="120" height="80"', 'width="120px" height="80px" viewBox="0 0 120 80"', 'viewBox="0 0 120 80"',
     'width="100%" height="100%" viewBox="0 0 9 9"', 'width="120mm" height="80mm"'],
)  # fmt: skip
def test_user_units_of_no_known_size_are_refused_unless_told(head: str) -> None:
    text = f'{OPEN}{head}><circle r="2"/></svg>'
    with pytest.raises(DrawingError, match=r"does not say how large its unit is; give it width and height"):
        area(text)
    assert area(text, units="in") == pytest.approx(pi * 50.8**2, rel=1e-4)


def test_a_unit_told_against_the_drawings_own_is_taken_and_said() -> None:
    drawn = read_drawing(IN_MM.format('<circle r="2"/>').encode(), ".svg", units="in")
    assert drawn.outline.area_mm2 == pytest.approx(pi * 50.8**2, rel=1e-4)
    assert drawn.told == ("says that its unit is 1 mm; taken as in, as told",)


GROUPS = (
    '<g id="layer1" xmlns:i="urn:editor" i:label="Wall"><circle id="c" r="20"/></g><g id="b"><circle r="9"/></g>'
    '<text>looking in</text><circle r="30" display="none"/><circle r="31" style="fill:red; display:none"/>'
    '<defs><circle r="3"/></defs>'
)


@pytest.mark.parametrize(("layer", "radius"), [("wall", 20.0), ("layer1", 20.0), ("c", 20.0), ("b", 9.0)])
def test_a_layer_is_a_group_or_shape_by_label_or_id(layer: str, radius: float) -> None:
    assert area(IN_MM.format(GROUPS), layer=layer) == pytest.approx(pi * radius**2, rel=1e-4)


@pytest.mark.parametrize(
    ("inside", "found"),
    [
        (GROUPS, 'holds 2 closed lines, .*; leave one, or name one of the layers "b", "c"'),
        ('<path d="M0 0L10 0L10 10"/>', "is open: from u 0.000, v 0.000 mm to u 10.000, v -10.000 mm"),
        ('<path d="M0 0L10 0L0 10L10 10z"/>', "crosses or touches itself at u 5.00, v -5.00 mm"),
        ('<polyline points="0,0 9,0 9,9"/>', "is open"),
        ('<polygon points="0,0 9,0 9"/>', "no pairs of numbers"),
        ('<path d="M0 0 L 9"/>', "a path: its path cannot be followed"),
        ('<path id="p" d="M0 0 L 9 nan"/>', '"p": its path holds "nn"'),
        ('<path d="L0 0"/>', "does not begin with M"),
        ('<rect width="5em" height="2"/>', 'width "5em" is no length'),
        ('<rect width="1e999" height="2"/>', 'width "1e999" is out of range'),
        ('<circle r="4" transform="rotate(x)"/>', r'its transform "rotate\(x\)" cannot be read'),
        ('<circle r="4" style="transform: scale(2)"/>', "has a transform in a style"),
        ('<svg><circle r="4"/></svg>', "svg in svg"),
        ('<circle id="a" r="4"/><use href="#a"/>', "shows a copy of a shape"),
        ('<circle r="0"/>', "no line is drawn in it"),
        ("<g>" * 70 + "</g>" * 70, "nested more than 64 deep"),
        ("<g/>" * 60_000, "more than 50000 elements"),
        ('<circle r="5"/>' * 2, "holds 2 closed lines"),
    ],
)
def test_what_is_no_one_closed_line_is_refused_with_where(inside: str, found: str) -> None:
    with pytest.raises(DrawingError, match=found):
        area(IN_MM.format(inside))


BOMB = (
    '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">'
    '<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]>'
)
OUTSIDE = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (BOMB + IN_MM.format("<text>&c;</text>"), "has a document type"),
        (OUTSIDE + IN_MM.format("<text>&x;</text>"), "has a document type"),
        ('<?xml version="1.0"?>\n<!DOCTYPE svg PUBLIC "-//x//EN" "http://x.example/svg.dtd">' + IN_MM.format(""),
         "has a document type"),
        (IN_MM.format('<image xlink:href="http://x.example/a.png"/>'), 'refers to "http://x.example/a.png"'),
        (IN_MM.format('<image href="file:///etc/hostname"/>'), "outside itself"),
        (IN_MM.format('<use href="other.svg#a"/>'), "outside itself"),
        (IN_MM.format('<circle r="9" style="fill: URL( \'http://x.example/a\' )"/>'), "outside itself"),
        (IN_MM.format('<style>@import "a.css"; </style>'), "a style that refers outside"),
        ('<?xml-stylesheet href="a.css"?>' + IN_MM.format(""), "a style sheet outside"),
        ('<?xml version="1.0" encoding="utf-16"?>' + IN_MM.format(""), 'says it is in "utf-16"'),
        ("<html></html>", 'its root is "html"'),
        ("", "is not whole XML"),
        ("<!--" * 100_000, "more than 50000 elements|is not whole XML"),
    ],
)  # fmt: skip
def test_nothing_in_an_svg_reaches_outside_or_grows_without_bound(text: str, found: str) -> None:
    with pytest.raises(DrawingError, match=found):
        area(text)


def test_other_encodings_are_refused() -> None:
    with pytest.raises(DrawingError, match="is not UTF-8"):
        read_drawing(IN_MM.format(RECT).encode("utf-16"), ".svg")


def test_comments_and_cdata_are_no_document_type() -> None:
    inside = f"<!-- <!DOCTYPE x> --><style><![CDATA[ a <!ENTITY b ]]></style>{RECT}"
    assert area(f'<?xml version="1.0" encoding="UTF-8"?>{IN_MM.format(inside)}') == pytest.approx(RADIUSED, rel=1e-4)


def test_a_truncated_file_is_refused_wherever_it_was_cut() -> None:
    text = IN_MM.format(RECT)
    for cut in range(0, len(text) - 1, 7):
        with pytest.raises(DrawingError, match=r"is not whole XML: line 1, column \d+"):
            area(text[:cut])


def test_long_tokens_cost_no_time() -> None:
    # each of these is quadratic for a careless pattern: minutes instead of a blink
    for inside, found in (
        (f'<rect width="{"1" * 900_000}!"/>', "is no length"),
        (f'<g style="url({" " * 900_000}"/>', "outside itself"),
        (f'<path d="M0 0{"L1 1" * 200_000}"/>', "numbers"),
    ):
        with pytest.raises(DrawingError, match=found):
            area(IN_MM.format(inside))
