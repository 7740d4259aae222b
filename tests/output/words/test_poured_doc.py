"""A poured volume in words: agrees, does not and why it might, or cannot be compared; never a cause applied."""

from __future__ import annotations

from portgeom.output.words.json_doc import Numbers
from portgeom.output.words.poured_doc import not_comparable_lines, poured_json, poured_lines
from portgeom.output.words.shown import Shown
from portgeom.questions.compare.poured import Cause, NotComparable, Part, Poured

MM = Shown("mm")
CAUSES = (
    Cause("width bias", 0.12, 1.5),
    Cause("distance scale", -0.021, -5.1),
    Cause("path offset", 0.7, 1.4),
)


def poured(difference_mm3: float, standard_mm3: float = 1000.0) -> Poured:
    parts = (
        Part("the guide boss", -1060.0, 20.0, "that the sections run as if it were not there"),
        Part("plate", 500.0, 0.0, ""),
    )
    return Poured(200_000.0, 200_560.0 - difference_mm3, parts, difference_mm3, standard_mm3, CAUSES)


def test_what_agrees_says_so_and_blames_nothing() -> None:
    lines = poured_lines("port 1", poured(1900.0), MM)
    assert lines[0] == (
        "Port 1: 200.0 cc poured, 198.1 cc by the model poured likewise: 1.9 cc more, "
        "within the combined uncertainty of 2.0 cc"
    )
    assert lines[1] == "  the model's 198.7 cc, less 1.1 for the guide boss, plus 0.5 for plate"
    assert lines[2] == "  assumed: of the guide boss that the sections run as if it were not there"
    assert len(lines) == 3


def test_what_does_not_agree_tells_every_cause_with_its_size_and_that_none_is_applied() -> None:
    lines = poured_lines("port 1", poured(2100.0), MM)
    assert "2.1 cc more, more than the 2.0 cc it may be off by" in lines[0]
    assert lines[3] == "  any one of these alone would explain it; none is applied:"
    assert lines[4:] == [
        "    every width and height reads 0.12 mm too small",
        "    every distance along the path is 2.1 percent too long; "
        "that is more than such readings are known to be off by",
        "    all sections lie 0.70 mm too near to the inside of the bend",
    ]


def test_without_the_figures_it_cannot_be_compared_and_never_disagrees() -> None:
    (line,) = poured_lines("port 1", NotComparable(200_000.0, ("a", "b")), MM)
    assert line == "Port 1: 200.0 cc poured cannot be compared; the job would have to say a and b."
    assert poured_json(NotComparable(200_000.0, ("a",)), Numbers("mm")) == {
        "poured_cc": 200.0,
        "comparable": False,
        "missing": ["a"],
    }


def test_nothing_poured_says_nothing() -> None:
    assert poured_lines("port 1", None, MM) == []
    assert poured_json(None, Numbers("mm")) is None


def test_inches_are_told_in_inches() -> None:
    assert "0.005 in too small" in "\n".join(poured_lines("port 1", poured(2100.0), Shown("in")))


def test_the_document_adds_up() -> None:
    found = poured_json(poured(2100.0), Numbers("mm"))
    assert isinstance(found, dict)
    assert found["agrees"] is False
    parts = sum(p["volume_cc"] for p in found["parts"])
    assert abs(found["model_cc"] + parts - found["expected_cc"]) < 1e-9
    assert abs(found["poured_cc"] - found["expected_cc"] - found["difference_cc"]) < 1e-9
    assert found["causes"][1]["percent"] == -2.1


def test_ports_that_lack_the_same_are_told_in_one_line() -> None:
    lacks, other = NotComparable(200_000.0, ("how it was poured",)), NotComparable(201_000.0, ("the plate",))
    lines = not_comparable_lines([("port 1", lacks), ("port 2", other), ("port 3", lacks)], MM)
    assert lines == [
        "Port 1 200.0 cc, port 3 200.0 cc: poured, and cannot be compared; "
        "the job would have to say how it was poured.",
        *poured_lines("port 2", other, MM),
    ]
