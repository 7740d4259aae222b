"""Reports opened in a real browser, from disk, with the network off."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pytest

from portgeom.job.read import read_job
from portgeom.job.values import Job
from portgeom.model.lofted import loft_job
from portgeom.output.report.report import write_report
from portgeom.questions.whole_job import WholeJob, whole_job

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def browser_path() -> str:
    """Return where a browser is; skips the test where there is none, or nothing that drives it."""
    pytest.importorskip("playwright.sync_api", reason="playwright is not installed: pip install playwright")
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip(f"no browser on PATH: none of {', '.join(NAMES)}")
    return found


def whole_of(job: Job) -> WholeJob:
    """Return all about the latest stage of each port of a job."""
    ports = loft_job(job)
    return whole_job(job, ports, [(p, p.stage(None)) for p in ports], units=job.units)


@pytest.fixture(scope="session")
def example() -> WholeJob:
    """Return all about the example, without cutters: what they reach takes its time and is told in words only."""
    return whole_of(replace(read_job(EXAMPLE), cutters=(), passes=()))


@pytest.fixture(scope="session")
def example_file(example: WholeJob, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where the example's report lies."""
    path = tmp_path_factory.mktemp("report") / "report.html"
    write_report(example, path)
    return path


@pytest.fixture(scope="session")
def playing() -> Iterator[Any]:
    """Return what drives browsers."""
    browser_path()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        yield play


@pytest.fixture(scope="session")
def browser(playing: Any) -> Iterator[Any]:
    """Return a browser that stays for all tests."""
    made = playing.chromium.launch(executable_path=browser_path(), args=QUIET)
    yield made
    made.close()


@dataclass
class Opened:
    """A report in a browser, and what the browser said about it."""

    page: Any
    errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    def port(self, number: int) -> Any:
        """Return a port's part of the page, scrolled to and alive."""
        part = self.page.locator(f"#port-{number}")
        part.evaluate("e => e.scrollIntoView()")
        part.locator(".reading").wait_for(state="visible")
        return part

    def drawn(self, part: Any) -> Any:
        """Return a port's picture once all that was asked of it is drawn."""
        canvas = part.locator("canvas")
        canvas.wait_for(state="visible")
        self.page.wait_for_function("c => Number(c.dataset.drawn) > 0", arg=canvas.element_handle())
        self.page.wait_for_timeout(350)
        return canvas


@pytest.fixture
def open_report(browser: Any) -> Iterator[Any]:
    """Return the function that opens a report with the network off."""
    contexts = []

    def opened(path: Path, *, browser: Any = browser, wide: int = 1280, tall: int = 900, **options: Any) -> Opened:
        context = browser.new_context(viewport={"width": wide, "height": tall}, offline=True, **options)
        contexts.append(context)
        page = context.new_page()
        made = Opened(page)
        page.on("console", lambda m: made.errors.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda e: made.errors.append(str(e)))
        page.on("dialog", lambda d: made.errors.append(f"dialog: {d.message}"))
        page.on("request", lambda r: made.requests.append(r.url))
        page.goto(path.as_uri())
        return made

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return the function that writes the report on a job and returns where it lies."""

    def of(job: Job) -> Path:
        path = tmp_path_factory.mktemp("report") / "report.html"
        write_report(whole_of(job), path)
        return path

    return of


@pytest.fixture
def another_browser(playing: Any) -> Iterator[Any]:
    """Return the function that starts a browser with more switches."""
    made = []

    def of(*switches: str) -> Any:
        made.append(playing.chromium.launch(executable_path=browser_path(), args=[*QUIET, *switches]))
        return made[-1]

    yield of
    for browser in made:
        browser.close()
