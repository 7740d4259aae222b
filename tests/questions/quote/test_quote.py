"""A quote's arithmetic worked by hand, and ranges that are never narrower than what they are made of."""

from __future__ import annotations

import pytest

from portgeom.job.quote_values import FixedTime, Quote, Range
from portgeom.questions.quote.quote import NOT_INCLUDED, Metal, PortWork, added, over, quote, times

GIVEN = Quote(
    metal_cc_per_min=Range(0.2, 0.25, 0.5),
    finish_cm2_per_min=Range(2.0, 4.0, 5.0),
    hourly_rate=60.0,
    currency="crowns",
    fixed=(FixedTime("mark out", Range(10.0, 15.0, 20.0)), FixedTime("wash", Range(30.0, 40.0, 60.0), "head")),
)
WORK = (
    PortWork("1", (Metal("ball", 6.0, 0.6), Metal("oval", 5.0, None)), 1.0, 160.0),
    PortWork("2", (), 0.0, 200.0),
)


def test_the_hours_by_hand() -> None:
    found = quote(GIVEN, WORK)
    minutes = {(line.port, line.what): line.minutes for line in found.lines}
    assert minutes["1", "cut with ball"] == Range(10.0, 10.0, 10.0)  # 6 cc at 0.6 cc a minute
    assert minutes["1", "cut with oval"] == Range(10.0, 20.0, 25.0)  # 5 cc at 0.5, 0.25 and 0.2
    assert minutes["1", "cut what no pass takes"] == Range(2.0, 4.0, 5.0)  # 1 cc at the same
    assert minutes["1", "finish"] == Range(32.0, 40.0, 80.0)  # 160 cm2 at 5, 4 and 2
    assert minutes["2", "finish"] == Range(40.0, 50.0, 100.0)
    assert minutes["1", "mark out"] == minutes["2", "mark out"] == Range(10.0, 15.0, 20.0)
    assert minutes["", "wash"] == Range(30.0, 40.0, 60.0)
    assert len(found.lines) == 8
    # 10 + 10 + 2 + 32 + 10 + 40 + 10 + 30 = 144 minutes; 10 + 20 + 4 + 40 + 15 + 50 + 15 + 40 = 194;
    # 10 + 25 + 5 + 80 + 20 + 100 + 20 + 60 = 320
    assert (found.hours.low, found.hours.likely, found.hours.high) == pytest.approx((2.4, 194.0 / 60.0, 320.0 / 60.0))
    assert found.price is not None
    assert (found.price.low, found.price.likely, found.price.high) == pytest.approx((144.0, 194.0, 320.0))
    assert found.missing == ()


def test_no_range_is_narrower_than_any_it_is_made_of() -> None:
    def spread(r: Range) -> float:
        return r.high - r.low

    lines = quote(GIVEN, WORK).lines
    whole = added([line.minutes for line in lines])
    assert spread(whole) == pytest.approx(sum(spread(line.minutes) for line in lines))
    assert all(spread(whole) >= spread(line.minutes) for line in lines)
    # as a share, too: a time has the same ratio of most to least as its rate
    for rate in (Range(1.0, 2.0, 3.0), Range(0.3, 0.3, 0.3)):
        time = over(7.0, rate)
        assert time.high / time.low == pytest.approx(rate.high / rate.low)
        assert time.low <= time.likely <= time.high
    assert spread(times(Range(1.0, 2.0, 4.0), 60.0)) == 180.0


def test_without_a_rate_work_is_left_out_and_that_is_told() -> None:
    found = quote(Quote(fixed=(FixedTime("mark out", Range(5.0, 5.0, 5.0)),)), WORK)
    assert [line.what for line in found.lines] == ["cut with ball", "mark out", "mark out"]
    assert found.price is None
    assert found.hours.high == pytest.approx((10.0 + 5.0 + 5.0) / 60.0)
    left_out = [m.split(":")[0] for m in found.missing]
    assert left_out == ["cutting with oval", "metal that no pass takes off", "finishing"]


def test_a_cutter_s_own_rate_goes_before_the_quote_s() -> None:
    found = quote(GIVEN, [PortWork("1", (Metal("ball", 6.0, 0.6),), 0.0, 10.0)])
    assert found.lines[0].basis == "6.0 cc at 0.6 cc/min"


def test_what_is_not_included_is_the_user_s_list_or_the_usual_one() -> None:
    assert quote(GIVEN, WORK).not_included == NOT_INCLUDED
    assert quote(Quote(not_included=("paint",)), WORK).not_included == ("paint",)
