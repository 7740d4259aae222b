"""The report stands alone, shows a job's words as words, and never shows a number that is none."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from portgeom.job.values import Note, Target
from portgeom.output.cautions import CAUTIONS
from portgeom.output.markup import text
from portgeom.output.report import POLICY, is_report, report_page, write_report

HOSTILE = "<script>alert(\"x\")</script> & 'q' منفذ \N{WRENCH} " + "long " * 60


class Parts(HTMLParser):
    """Gathers tags, ids, links and the text a person reads."""

    def __init__(self, page):
        super().__init__()
        self.tags, self.ids, self.links, self.words = [], [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value)
            if name in ("src", "href", "xlink:href", "srcset", "action", "data", "poster", "background"):
                self.links.append(value)

    def handle_data(self, data):
        if "style" not in self.tags[-1:]:
            self.words.append(data)

    @property
    def told(self):
        return " ".join(self.words)


@pytest.fixture(scope="module")
def page(pair):
    return report_page(pair.job, pair.answers)


def test_page_forbids_every_request_and_makes_none(page):
    assert f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">' in page
    assert POLICY.startswith("default-src 'none'; style-src 'unsafe-inline'; img-src data:")
    links = Parts(page).links
    assert links
    assert all(link.startswith(("#", "data:image/")) for link in links)
    assert all(reference.startswith("#") for reference in re.findall(r"url\(([^)]*)\)", page))
    assert not re.search(r"@import|https?:", page)


def test_page_holds_no_script_and_no_handler(page):
    assert "script" not in Parts(page).tags
    assert not re.search(r"<[^>]*\son\w+=", page)


def test_every_id_is_there_once_and_every_link_leads_somewhere(page):
    parts = Parts(page)
    assert len(parts.ids) == len(set(parts.ids))
    assert {link[1:] for link in parts.links if link.startswith("#")} <= set(parts.ids)


def test_same_job_makes_the_same_page(page, pair):
    assert report_page(pair.job, pair.answers) == page


def test_page_is_small(page):
    assert len(page.encode()) < 1_500_000


def test_answers_come_before_pictures_and_pictures_before_tables(page):
    order = ["Where does the roof hang?", "The port from outside", "Side view", "Roof map", "Area along the path"]
    order += ["Sections: ", "Stations as measured", "Metal to take off, between stations", "<h2>What was assumed"]
    order += ["How the figures were made", "Cautions</h2>"]
    places = [page.index(words) for words in order]
    assert places == sorted(places)


def test_example_tells_its_boss_and_its_clean_sibling(page):
    told = Parts(page).told
    assert "6.0 mm above the line: metal to take off" in told
    assert "no bulge" in told
    assert "bolt hole" in told
    assert 'Port 2 is held against the target "street" of the job.' in told


def test_every_caution_is_on_the_page(page):
    assert all(text(c.words) in page for c in CAUTIONS)


@pytest.mark.parametrize(("name", "units"), [("boss", "in"), ("plain", "mm"), ("past", "in"), ("bend", "mm")])
def test_no_number_that_is_none_reaches_a_person(request, name, units):
    asked = request.getfixturevalue(name)
    told = Parts(report_page(asked.job, asked.answers[:1], units=units)).told
    assert not re.search(r"\b(nan|NaN|None|inf|Infinity)\b", told)


def test_a_job_without_a_target_says_that_its_line_is_a_guess(plain):
    assert "the roof is held against a guess" in Parts(report_page(plain.job, plain.answers)).told


def test_a_jobs_words_are_shown_as_words(plain, asking):
    port = replace(
        plain.job.ports[0],
        name=HOSTILE,
        target=HOSTILE,
        left_wall=HOSTILE,
        right_wall=HOSTILE,
        stages=tuple(replace(s, name=HOSTILE) for s in plain.job.ports[0].stages),
    )
    note = Note(HOSTILE, 3, HOSTILE, HOSTILE, HOSTILE)
    job = replace(plain.job, title=HOSTILE, material=HOSTILE, ports=(port,), targets=(Target(HOSTILE),), notes=(note,))
    page = report_page(job, asking(job).answers)
    parts = Parts(page)
    assert "script" not in parts.tags
    assert "alert" in parts.told
    assert text(HOSTILE) in page


def test_long_ports_are_drawn_with_names_cut(plain, asking):
    rows = plain.job.ports[0].stages[0].sections.rows
    table = replace(
        plain.job.ports[0].stages[0].sections,
        rows=tuple(replace(r, station="a very long station name " + r.station) for r in rows),
    )
    port = replace(plain.job.ports[0], stages=(replace(plain.job.ports[0].stages[0], sections=table),))
    job = replace(plain.job, ports=(port,))
    assert "a ver…" in report_page(job, asking(job).answers)


def test_report_is_written_whole_and_never_over_another_file(plain, tmp_path):
    place = tmp_path / "folder" / "report.html"
    write_report(plain.job, plain.answers, place)
    first = place.read_bytes()
    assert first.startswith(b"<!DOCTYPE html>")
    assert first.endswith(b"</html>\n")
    with pytest.raises(FileExistsError, match=r"report\.html is there already"):
        write_report(plain.job, plain.answers, place)
    assert place.read_bytes() == first
    place.write_bytes(b"half a page")
    write_report(plain.job, plain.answers, place, force=True)
    assert place.read_bytes() == first
    assert [p.name for p in place.parent.iterdir()] == ["report.html"]


def test_a_report_knows_itself_and_no_other_page(plain, tmp_path):
    place = tmp_path / "report.html"
    write_report(plain.job, plain.answers, place)
    other = tmp_path / "mine.html"
    other.write_text("<!DOCTYPE html><title>mine</title>")
    assert is_report(place)
    assert not is_report(other)
    assert not is_report(tmp_path / "nothing.html")
