"""Numbers come out of the page as they went in, to within half a step, and nothing in a block can end it."""

from __future__ import annotations

import base64
import json
import re

import numpy as np
import pytest

from portgeom.output.report.packed import CODES, NONE, floats, json_block, lengths, shades


def bytes_of(url):
    return base64.b64decode(url.partition(",")[2])


def test_lengths_come_back_within_half_a_step():
    values = np.random.default_rng(7).uniform(0.0, 61.3, (40, 50))
    packed = lengths(values, 61.3)
    back = np.frombuffer(bytes_of(packed.data), dtype="<u2").reshape(values.shape) * packed.step
    assert packed.step == pytest.approx(61.3 / 65535.0)
    assert np.abs(back - values).max() <= 0.5 * packed.step * (1.0 + 1e-9)


def test_lengths_of_nothing_are_nothing():
    packed = lengths(np.zeros((2, 3)), 0.0)
    assert bytes_of(packed.data) == bytes(12)


def test_shades_come_back_within_half_a_step_and_nothing_stays_nothing():
    values = np.linspace(-1.0, 7.0, 333)
    values[5] = np.nan
    code = np.frombuffer(bytes_of(shades(values, -1.0, 7.0)), dtype="u1")
    assert code[5] == NONE
    known = np.delete(np.arange(333), 5)
    assert np.abs(-1.0 + code[known] * 8.0 / CODES - values[known]).max() <= 0.5 * 8.0 / CODES * (1.0 + 1e-9)


def test_shades_beyond_the_scale_are_its_ends():
    code = np.frombuffer(bytes_of(shades(np.array([-5.0, 20.0, np.inf, -np.inf]), 0.0, 15.0)), dtype="u1")
    assert code.tolist() == [0, CODES, CODES, 0]


def test_floats_are_32_bit_floats():
    values = np.array([[0.1, -2.5], [1e6, 3.0]])
    np.testing.assert_array_equal(np.frombuffer(bytes_of(floats(values)), "<f4").reshape(2, 2), values.astype("f4"))


@pytest.mark.parametrize(
    "words", ["</script><script>alert(1)</script>", "<!--<script>", "\u2028 & ' \" \\", "منفذ \N{WRENCH}"]
)
def test_no_word_ends_a_block_or_begins_markup(words):
    block = json_block("p", {"name": words})
    inside = re.fullmatch(r'<script type="application/json" id="p">(.*)</script>', block).group(1)
    assert not set(inside) & set("<>&\u2028")
    assert json.loads(inside) == {"name": words}


def test_a_number_that_is_none_is_refused():
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_block("p", {"x": float("nan")})
