"""The page opens from disk, asks for nothing, is whole without its script, and keeps a job's words as words."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from portgeom.job.read import read_job

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"
HOSTILE = "<script>alert('x')</script>\"><img src=x onerror=alert(1)> & 'q' \"d\" منفذ السحب \N{WRENCH} " + "long " * 60


def bare():
    """Return the example without what takes long to ask."""
    return replace(read_job(EXAMPLE), cutters=(), passes=())


def wide_words(opened):
    return opened.page.evaluate("[document.scrollingElement.scrollWidth, window.innerWidth]")


def test_page_opens_with_the_network_off_and_asks_for_nothing(open_report, example_file):
    opened = open_report(example_file)
    for number in (1, 2):
        opened.drawn(opened.port(number))
    assert opened.errors == []
    asked = [url for url in opened.requests if not url.startswith("data:")]
    assert asked == [example_file.as_uri()]


def test_page_forbids_what_it_does_not_say_itself(open_report, example_file):
    opened = open_report(example_file)
    opened.page.evaluate(
        """() => {
          const script = document.createElement('script');
          script.textContent = 'window.obeyed = true';
          document.body.append(script);
          const image = new Image();
          image.src = 'https://127.0.0.1:9/x.png';
          document.body.append(image);
        }"""
    )
    opened.page.wait_for_timeout(200)
    assert opened.page.evaluate("window.obeyed") is None
    assert any("Content Security Policy" in error for error in opened.errors)


@pytest.mark.parametrize("wide", [360, 768, 1280, 3840])
def test_nothing_runs_off_the_side_at_any_width(open_report, example_file, wide):
    opened = open_report(example_file, wide=wide, tall=900)
    opened.port(2)
    needed, there = wide_words(opened)
    assert needed <= there
    assert opened.errors == []


def test_without_webgl_the_still_picture_stands_in_and_charts_stay_linked(open_report, example_file, another_browser):
    opened = open_report(example_file, browser=another_browser("--disable-3d-apis"))
    part = opened.port(2)
    assert part.locator(".still svg").is_visible()
    assert not part.locator("canvas").is_visible()
    assert not part.locator(".controls").is_visible()
    part.locator(".reading input").fill("42")
    assert part.locator("path.cursor").first.get_attribute("data-distance") == "42.0"


def test_without_a_script_the_page_is_whole(open_report, example_file):
    opened = open_report(example_file, java_script_enabled=False)
    part = opened.page.locator("#port-2")
    assert part.locator(".still svg").is_visible()
    assert part.locator("figure.area svg").is_visible()
    for name in ("canvas", ".controls", ".reading", ".picked", ".keys"):
        assert not part.locator(name).is_visible()


def test_on_paper_the_picture_is_the_still_one_and_no_control_is_printed(open_report, example_file):
    opened = open_report(example_file)
    part = opened.port(2)
    opened.drawn(part)
    opened.page.emulate_media(media="print")
    assert part.locator(".still svg").is_visible()
    for name in ("canvas", ".controls", ".reading", ".picked", ".keys", "path.cursor >> nth=0"):
        assert not part.locator(name).is_visible()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_whole(open_report, example_file, paper):
    opened = open_report(example_file)
    data = opened.page.pdf(format=paper)
    assert data.startswith(b"%PDF")
    assert 8 <= data.count(b"/Type /Page\n") + data.count(b"/Type /Page ") <= 60


def test_hostile_names_are_words(open_report, written):
    job = bare()
    ports = tuple(
        replace(
            p,
            name=f"{p.name} {HOSTILE}",
            left_wall=HOSTILE,
            right_wall=HOSTILE,
            stages=tuple(replace(s, name=f"{s.name} {HOSTILE}") for s in p.stages),
        )
        for p in job.ports
    )
    hazards = tuple(replace(h, name=f"{h.name} {HOSTILE}", ports=()) for h in job.hazards)
    hostile = replace(job, title=HOSTILE, ports=ports, hazards=hazards, flow=(), valves=())
    opened = open_report(written(hostile), wide=360, tall=740)
    part = opened.port(2)
    opened.drawn(part)
    part.locator('[data-control="hazards"]').check()
    part.locator('[data-act="read"]').count()
    part.locator("canvas").press("Enter")
    opened.page.wait_for_timeout(300)
    assert opened.errors == []
    assert opened.page.evaluate("document.querySelectorAll('img, [onerror]').length") == 0
    assert opened.page.locator("h1").inner_text().split() == HOSTILE.split()
    assert "<script>alert('x')</script>" in part.locator(".picked").inner_text()
    assert part.locator('[data-control="state"] option').first.inner_text().startswith("as cast <script>")
    needed, there = wide_words(opened)
    assert needed <= there


def test_a_job_with_nothing_to_cut_and_nothing_behind_it_has_no_empty_controls(open_report, written):
    job = bare()
    ports = tuple(replace(p, target=None) for p in job.ports)
    opened = open_report(written(replace(job, ports=ports, targets=(), hazards=(), flow=(), valves=())))
    part = opened.port(1)
    opened.drawn(part)
    colours = part.locator('[data-control="colour"] option').all_inner_texts()
    assert colours == ["height over the line", "nothing"]
    assert part.locator('[data-control="hazards"]').count() == 0
    part.locator("canvas").press("Enter")
    assert "metal behind the wall" not in part.locator(".picked").inner_text()
    assert opened.errors == []


@pytest.fixture(scope="session")
def axe(tmp_path_factory):
    """Return the source of an accessibility engine, fetched for the test and kept nowhere."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("no npm to fetch axe-core with")
    folder = tmp_path_factory.mktemp("axe")
    got = subprocess.run(
        [npm, "install", "--no-save", "--no-audit", "--no-fund", "--ignore-scripts", "axe-core@4"],
        cwd=folder,
        capture_output=True,
        timeout=120,
        check=False,
    )
    if got.returncode != 0:
        pytest.skip("axe-core could not be fetched")
    return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")


@pytest.mark.parametrize(("scheme", "wide"), [("light", 1280), ("dark", 1280), ("light", 360)])
def test_an_accessibility_engine_finds_nothing_serious(open_report, example_file, axe, scheme, wide):
    opened = open_report(example_file, wide=wide, color_scheme=scheme)
    for number in (1, 2):
        opened.drawn(opened.port(number))
    opened.page.evaluate(axe)
    found = opened.page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    serious = [
        (v["id"], v["help"], [n["target"] for n in v["nodes"]][:3])
        for v in found["violations"]
        if v["impact"] in ("serious", "critical")
    ]
    assert serious == []
