"""match, quote and handover on the example that has all of it, on one that has none, and what they refuse."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main
from pypdf import PdfReader

EXAMPLES = Path(__file__).parents[2] / "examples"
STAGES, BARE = EXAMPLES / "workshop-stages", EXAMPLES / "workshop-sliced"
COMMANDS = ("match", "quote", "handover")

CHROMIUM = shutil.which("chromium")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def document(*arguments: str | Path) -> dict[str, Any]:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.stderr
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


@pytest.fixture(scope="module")
def matched() -> dict[str, Any]:
    return document("match", STAGES)


@pytest.fixture(scope="module")
def quoted() -> dict[str, Any]:
    return document("quote", STAGES)


@pytest.fixture(scope="module")
def handed() -> dict[str, Any]:
    return document("handover", STAGES)


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_words_hold_no_number_that_is_none(command: str, units: str) -> None:
    result = run(command, STAGES, "--units", units, "--port", "2")
    assert result.exit_code == 0
    for word in ("nan", "None", "inf ", "Traceback"):
        assert word not in result.stdout


def test_a_match_has_twelve_steps_of_every_port(matched: dict[str, Any]) -> None:
    assert matched["command"] == "match"
    for entry in matched["ports"]:
        assert [s["clock"] for s in entry["steps"]] == [30.0 * k for k in range(12)]
        for step in entry["steps"]:
            for part in ("gasket", "manifold"):
                assert step[part]["least"] <= step[part]["best"] <= step[part]["most"]
        assert entry["areas"]["common"] <= entry["areas"]["port"] <= entry["areas"]["matched"]
        assert entry["manifold"]["goes_on"]


def test_the_example_s_flange_lies_where_its_script_put_it(matched: dict[str, Any]) -> None:
    import workshop_match

    for entry in matched["ports"]:
        _, _, wide, tall = workshop_match.FLANGES[entry["port"]]
        by_clock = {s["clock"]: s["manifold"]["best"] for s in entry["steps"]}
        # both walls' steps together are how much wider the opening is than the port, roof and floor how much taller
        gap = by_clock[90.0] + by_clock[270.0], by_clock[0.0] + by_clock[180.0]
        assert gap == pytest.approx((wide - 42.2, tall - 50.15), abs=0.2)
        # the holes were told to a tenth of a millimetre
        assert max(entry["manifold"]["off"]) < 0.1


def test_inches_are_millimetres_over_25_4(matched: dict[str, Any]) -> None:
    inches = document("match", STAGES, "--units", "in")["ports"][0]
    mm = matched["ports"][0]
    assert inches["steps"][3]["manifold"]["best"] == pytest.approx(mm["steps"][3]["manifold"]["best"] / 25.4, abs=1e-5)
    assert inches["milling"]["shift"] == pytest.approx(mm["milling"]["shift"] / 25.4, abs=1e-5)


def test_strict_tells_that_an_edge_faces_the_flow() -> None:
    assert run("match", STAGES, "--strict").exit_code == 1
    assert run("match", BARE, "--strict").exit_code == 0


def test_the_template_is_at_full_size(tmp_path: Path, matched: dict[str, Any]) -> None:
    place = tmp_path / "match.dxf"
    assert run("match", STAGES, "--port", "2", "--template", place).exit_code == 0
    entry = next(e for e in matched["ports"] if e["port"] == "2")
    rings = [
        [(p[0], p[1]) for p in line.get_points()]
        for line in ezdxf.readfile(place).modelspace().query("LWPOLYLINE")
        if line.closed
    ]
    areas = [abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(r, r[1:] + r[:1], strict=True))) / 2.0 for r in rings]
    assert any(a == pytest.approx(entry["areas"]["matched"], rel=1e-5) for a in areas)
    assert run("match", STAGES, "--template", place).exit_code == 2  # there already
    assert run("match", STAGES, "--template", tmp_path / "match.png").exit_code == 2
    nothing = run("match", BARE, "--template", tmp_path / "no.pdf")
    assert nothing.exit_code == 2
    assert "[port.match]" in nothing.stderr


def test_an_opening_beside_the_port_is_a_fault_of_the_job(tmp_path: Path) -> None:
    job = Path(shutil.copytree(STAGES, tmp_path / "job"))
    text = (job / "job.toml").read_text(encoding="utf-8")
    holes = "[[161.4, 105.9], [99.4, 104.1], [100.6, 62.1], [162.6, 63.9]]"
    assert holes in text
    (job / "job.toml").write_text(text.replace(holes, "[[0, 0], [9, 0], [9, 9], [0, 9]]"), encoding="utf-8")
    for command in ("match", "check"):
        result = run(command, job)
        assert result.exit_code == 2
        assert "port '1' match manifold: its opening lies wholly beside the port's" in result.stderr


def test_a_quote_adds_up(quoted: dict[str, Any]) -> None:
    found = quoted["quote"]
    for end in ("low", "likely", "high"):
        minutes = sum(line["minutes"][end] for line in found["lines"])
        assert found["hours"][end] == pytest.approx(minutes / 60.0, abs=1e-3)
        assert found["price"][end] == pytest.approx(found["hours"][end] * found["hourly_rate"], abs=0.1)
    assert found["hours"]["low"] < found["hours"]["likely"] < found["hours"]["high"]
    assert found["not_included"]
    # metal is quoted from the ports as they came in
    off = {e["port"]: e["volume_cc"] for e in document("removal", STAGES, "--stage", "as cast")["ports"]}
    for port, volume in off.items():
        told = [re.match(r"([\d.]+) cc", line["basis"]) for line in found["lines"] if line["port"] == port]
        assert sum(float(m[1]) for m in told if m) == pytest.approx(volume, rel=0.05)


def test_a_job_without_rates_says_what_to_add() -> None:
    result = run("quote", BARE)
    assert result.exit_code == 0
    assert "Add a [quote]" in result.stdout
    assert document("quote", BARE)["quote"] is None


def test_a_record_has_before_and_after(handed: dict[str, Any]) -> None:
    for entry in handed["ports"]:
        assert entry["before"]["stage"] == "as cast"
        assert entry["after"]["stage"] == "finished"
        assert entry["after"]["volume_cc"] > entry["before"]["volume_cc"]
        assert [p["place"] for p in entry["places"]] == ["face", "pinch", "turn", "bowl", "throat"]
    assert handed["ports"][0]["flow"] == []
    assert handed["ports"][1]["flow"][0] == {
        "stage": "as cast",
        "lift": 5.0,
        "depression": "28 inH2O",
        "rate": "118 cfm",
    }
    assert handed["receipt"]["face_flatness"] == 0.06
    assert handed["opened"][0]["sealed"].startswith("threaded plug")
    assert handed["valves"][0]["kind"] == "intake"
    assert handed["chamber"]["milled"]["volume_cc"] < handed["chamber"]["now"]["volume_cc"]


def test_what_was_not_measured_is_left_out_of_the_page(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    assert run("handover", BARE, "--out", page).exit_code == 0
    words = page.read_text(encoding="utf-8")
    for heading in ("Opened and sealed", "On the flow bench", "Least metal", "poured"):
        assert heading not in words
    assert not re.search(r"<h2>[^<]*</h2>\s*</section>", words)
    assert not re.search(r">\s*(?:0|0\.0|None|nan)\s*<", words)
    assert "Cautions" in words
    for name in ("receipt", "valves"):
        told = run("handover", BARE, "--page", name)
        assert told.exit_code == 0
        assert "Add a" in told.stdout
        assert run("handover", BARE, "--page", name, "--out", tmp_path / f"{name}.html").exit_code == 2
        assert not (tmp_path / f"{name}.html").exists()


def test_the_page_leads_to_the_report_as_seen_from_where_it_lies(tmp_path: Path) -> None:
    page = tmp_path / "out" / "page.html"
    report = tmp_path / "report" / "job.html"
    assert run("handover", STAGES, "--port", "1", "--out", page, "--report", report).exit_code == 0
    assert 'href="../report/job.html"' in page.read_text(encoding="utf-8")


def test_words_of_the_job_are_shown_as_words(tmp_path: Path) -> None:
    job = Path(shutil.copytree(STAGES, tmp_path / "job"))
    text = (job / "job.toml").read_text(encoding="utf-8")
    hostile = "<script>alert(1)</script>"
    sealed = "threaded plug set in sealant, dressed flush"
    for old in ("WK 7 | 114, front", sealed, "two exhaust guides renewed", "crowns"):
        assert old in text
        text = text.replace(old, hostile)
    (job / "job.toml").write_text(text, encoding="utf-8")
    for command in (["handover"], ["handover", "--page", "receipt"], ["handover", "--page", "valves"], ["quote"]):
        page = tmp_path / f"{'-'.join(command)}.html"
        assert run(command[0], job, *command[1:], "--port", "2", "--out", page).exit_code == 0
        words = page.read_text(encoding="utf-8")
        assert "<script" not in words
        assert "&lt;script&gt;" in words
    assert run("handover", job, "--port", "2", "--out", tmp_path / "page.pdf").exit_code == 0


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("command", [["handover"], ["handover", "--page", "receipt"], ["handover", "--page", "valves"]])
def test_each_page_of_the_example_is_one_sheet(command: list[str], paper: str, tmp_path: Path) -> None:
    place = tmp_path / "page.pdf"
    assert run(command[0], STAGES, *command[1:], "--out", place, "--paper", paper).exit_code == 0
    assert len(PdfReader(place).pages) == 1


@pytest.mark.skipif(CHROMIUM is None, reason="there is no browser to print with")
@pytest.mark.parametrize("size", ["A4", "letter"])
def test_the_handover_prints_on_one_sheet(size: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from portgeom.output.paper import blocks_html

    page, printed = tmp_path / "page.html", tmp_path / "printed.pdf"
    monkeypatch.setattr(blocks_html, "CSS", blocks_html.CSS.replace("@page{margin", f"@page{{size:{size};margin"))
    assert run("handover", STAGES, "--out", page, "--report", tmp_path / "r.html").exit_code == 0
    flags = (
        "--headless --no-sandbox --disable-gpu --no-first-run --disable-background-networking --no-pdf-header-footer"
    )
    command = [str(CHROMIUM), *flags.split(), f"--user-data-dir={tmp_path / 'browser'}"]
    subprocess.run([*command, f"--print-to-pdf={printed}", page.as_uri()], check=True, capture_output=True, timeout=120)
    pages = PdfReader(printed).pages
    assert len(pages) == 1
    assert float(pages[0].mediabox.height) == pytest.approx({"A4": 842.0, "letter": 792.0}[size], abs=1.0)


def test_a_page_is_not_written_over_and_needs_a_known_ending(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text("mine", encoding="utf-8")
    assert run("handover", STAGES, "--out", page).exit_code == 2
    assert run("quote", STAGES, "--out", page).exit_code == 2
    assert page.read_text(encoding="utf-8") == "mine"
    assert run("handover", STAGES, "--out", tmp_path / "page.docx").exit_code == 2
    assert run("handover", STAGES, "--page", "receipt", "--out", page, "--force").exit_code == 0
    assert "The head as it came in" in page.read_text(encoding="utf-8")


def test_faults_write_nothing(tmp_path: Path) -> None:
    job = Path(shutil.copytree(STAGES, tmp_path / "job"))
    (job / "job.toml").write_text("title = 3", encoding="utf-8")
    for command in COMMANDS:
        result = run(command, job, *([] if command == "match" else ["--out", tmp_path / "x.html"]))
        assert result.exit_code == 2
        assert "Traceback" not in result.output
    assert not (tmp_path / "x.html").exists()


EXHAUST_JOB = """\
title = "One exhaust port"
units = "mm"
material = "grey iron"
[[port]]
name = "1"
kind = "exhaust"
  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"
[[valve]]
kind = "exhaust"
head_diameter = 43.0
throat_diameter = 38.0
stem_diameter = 8.0
seat_angle = 45.0
seat_width = 1.5
"""


def test_profile_holds_an_exhaust_against_what_exhausts_are(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(EXHAUST_JOB, encoding="utf-8")
    rows = ["station,distance,shape,width", "1,0,circle,42.0", "2,40,circle,40.0", "3,80,circle,38.0"]
    (tmp_path / "cast.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    text = run("profile", tmp_path).stdout
    assert "at the throat to" in text
    assert "88.4 percent of the valve's head, of 86 to 90 (common practice)" in text
    assert "122.2 percent of the throat's area, of 115 to 135 (common practice)" in text
    assert "Taper: smooth." in text
    found = document("profile", tmp_path)["ports"][0]["exhaust"]
    assert found["face_percent"] == pytest.approx(100.0 * (42.0 / 38.0) ** 2, abs=0.01)
    assert found["throat_percent"] == pytest.approx(100.0 * 38.0 / 43.0, abs=0.01)
    assert found["as_common_practice"]
    assert document("profile", STAGES)["ports"][0]["exhaust"] is None
    page = tmp_path / "report.html"
    assert run("report", tmp_path, "--out", page).exit_code == 0
    assert "Its face has 122.2 percent of the throat" in page.read_text(encoding="utf-8")
    # the other way round it narrows on its way out, and is told so
    (tmp_path / "cast.csv").write_text("\n".join([rows[0], "1,0,circle,36.0", rows[3]]) + "\n", encoding="utf-8")
    text = run("profile", tmp_path).stdout
    assert "narrows on its way out" in text
    assert "Taper: not smooth." in text
    assert "outside that" in text
