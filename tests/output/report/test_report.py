"""The report stands alone, shows a job's words as words, and never shows a number that is none."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from portgeom.job.values import Note, Target
from portgeom.output.report.css import CSS
from portgeom.output.report.page import is_report, policy
from portgeom.output.report.report import report_page, write_report
from portgeom.output.report.script import script
from portgeom.output.words.cautions import CAUTIONS
from portgeom.output.words.first_words import first_answers
from portgeom.output.words.markup import text
from portgeom.output.words.shown import Shown

SVG_NAME = "http://www.w3.org/2000/svg"
"""The name of a language, which nothing is asked of."""

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
        if self.tags[-1:] not in (["style"], ["script"]):
            self.words.append(data)

    @property
    def told(self):
        return " ".join(self.words)


@pytest.fixture(scope="module")
def page(pair, whole):
    # one cutter for all passes: reach is asked of each that they use, and takes its time
    one = replace(pair, job=replace(pair.job, passes=tuple(replace(p, cutter="ball 10") for p in pair.job.passes)))
    return report_page(whole(one))


def test_page_forbids_every_request_and_makes_none(page):
    (told,) = re.findall(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">', page)
    assert told == policy(CSS, script())
    assert told.startswith("default-src 'none'; ")
    links = Parts(page).links
    assert links
    assert all(link.startswith(("#", "data:image/")) for link in links)
    assert all(reference.startswith("#") for reference in re.findall(r"url\(([^)]*)\)", page))
    assert not re.search(r"@import|https?:", page.replace(SVG_NAME, ""))


def test_policy_names_the_one_script_and_the_one_style_by_their_hashes(page):
    (rules,) = re.findall(r'content="(default-src[^"]*)"', page)
    styles, scripts = (
        re.findall(r"<style>(.*?)</style>", page, re.DOTALL),
        re.findall(r"<script>(.*?)</script>", page, re.DOTALL),
    )
    for kind, texts in (("style", styles), ("script", scripts)):
        (words,) = texts
        digest = base64.b64encode(hashlib.sha256(words.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in rules
    assert "unsafe" not in rules


def test_page_holds_no_other_script_no_handler_and_no_style_of_an_element(page):
    found = re.findall(r"<script\b[^>]*>", page)
    assert found == ['<script type="application/json" id="port-1-data">'] + (
        ['<script type="application/json" id="port-2-data">', "<script>"]
    )
    tags = re.findall(r"<[a-zA-Z][^>]*>", re.sub(r"<script>.*?</script>", "", page, flags=re.DOTALL))
    assert not any(re.search(r"\s(on\w+|style)=", tag) for tag in tags)


def test_script_evaluates_no_text():
    assert not re.search(
        r"\beval\b|new Function|innerHTML|insertAdjacentHTML|document\.write|fetch\(|import\(", script()
    )


def test_every_id_is_there_once_and_every_link_leads_somewhere(page):
    parts = Parts(page)
    assert len(parts.ids) == len(set(parts.ids))
    assert {link[1:] for link in parts.links if link.startswith("#")} <= set(parts.ids)


def test_same_job_makes_the_same_page(drilled, whole):
    first, again = (report_page(whole(drilled)) for _ in range(2))
    assert first == again


def test_page_is_small(page):
    assert len(page.encode()) < 3_000_000


def test_answers_come_before_pictures_and_pictures_before_tables(page):
    order = ["Where does the roof hang?", "The port in the round", "Side view", "Roof map", "Area along the path"]
    order += [
        "Sections: ",
        "<h3>Cutting",
        "Area after each pass",
        "In this order",
        "Depth card",
        "<h3>Behind the walls",
    ]
    order += ["What lies behind the walls", "Least metal behind the walls", "<h3>Reach"]
    order += ["Stations as measured", "Metal to take off, between stations", "<h2>What was assumed"]
    order += ["<h2>How the figures were made", "Cautions</h2>"]
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


@pytest.mark.parametrize(
    ("name", "units"), [("boss", "in"), ("plain", "mm"), ("past", "in"), ("bend", "mm"), ("drilled", "in")]
)
def test_no_number_that_is_none_reaches_a_person(request, whole, name, units):
    asked = request.getfixturevalue(name)
    told = Parts(report_page(whole(asked, units))).told
    assert not re.search(r"\b(nan|NaN|None|inf|Infinity)\b", told)


def test_a_job_without_a_target_says_that_its_line_is_a_guess(plain, whole):
    assert "the roof is held against a guess" in Parts(report_page(whole(plain))).told


def test_what_has_nothing_to_say_is_left_out_and_what_would_bring_it_is_told_once(plain, whole):
    page = report_page(whole(plain))
    assert not re.search(r"<h3>(Cutting|Behind the walls|Reach)", page)
    assert not re.search(r"<(h[234])>[^<]*</\1>\s*</(div|section)>", page)
    told = Parts(page).told
    assert "The job names no cutter, so nothing is said of what cutters reach: add a [[cutter]]" in told
    assert "add a [[hazard]] for each" in told


def test_a_job_without_passes_follows_the_usual_plan_and_says_so(boss, whole):
    told = Parts(report_page(whole(boss))).told
    assert "The job gives no passes, so this is the usual plan" in told
    assert "ball 10 (assumed)" in told
    assert "add a [[pass]] for each that you mean to cut" in told
    assert "Reach" not in told


def test_every_part_of_a_port_is_one_click_away(page):
    links = Parts(page).links
    for port in (1, 2):
        for part in ("cutting", "walls", "reach", "tables"):
            assert f"#port-{port}-{part}" in links


def test_what_lies_behind_the_walls_is_named_in_the_pictures_words(page):
    alts = re.findall(r'aria-label="([^"]*)"', page)
    assert any("coloured by the metal left behind the wall, with bolt hole" in a for a in alts)


def test_a_jobs_words_are_shown_as_words(plain, asking, whole):
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
    asked = asking(job)
    page = report_page(whole(asked))
    parts = Parts(page)
    assert parts.tags.count("script") == 2
    assert "alert" in parts.told
    assert "alert(" not in "".join(re.findall(r"<script>.*?</script>", page, re.DOTALL))
    assert text(HOSTILE) in page


def test_names_of_passes_cutters_and_hazards_are_shown_as_words(drilled, whole):
    job = drilled.job
    cutter = replace(job.cutters[0], name=HOSTILE)
    job = replace(
        job,
        cutters=(cutter,),
        passes=tuple(replace(p, name=f"{p.name} {HOSTILE}", cutter=HOSTILE) for p in job.passes),
        hazards=tuple(replace(h, name=f"{h.name} {HOSTILE}") for h in job.hazards),
    )
    asked = replace(drilled, job=job)
    page = report_page(whole(asked))
    assert Parts(page).tags.count("script") == 2
    assert not re.search(r"<[a-z][^>]*\son\w+=", re.sub(r"<script>.*?</script>", "", page, flags=re.DOTALL))
    for name in (f"grooves {HOSTILE}", f"bolt hole {HOSTILE}"):
        assert text(name) in page


def test_long_ports_are_drawn_with_names_cut(plain, asking, whole):
    rows = plain.job.ports[0].stages[0].sections.rows
    table = replace(
        plain.job.ports[0].stages[0].sections,
        rows=tuple(replace(r, station="a very long station name " + r.station) for r in rows),
    )
    port = replace(plain.job.ports[0], stages=(replace(plain.job.ports[0].stages[0], sections=table),))
    job = replace(plain.job, ports=(port,))
    asked = asking(job)
    assert "a ver…" in report_page(whole(asked))


def test_report_is_written_whole_and_never_over_another_file(plain, whole, tmp_path):
    place = tmp_path / "folder" / "report.html"
    write_report(whole(plain), place)
    first = place.read_bytes()
    assert first.startswith(b"<!DOCTYPE html>")
    assert first.endswith(b"</html>\n")
    with pytest.raises(FileExistsError, match=r"report\.html is there already"):
        write_report(whole(plain), place)
    assert place.read_bytes() == first
    place.write_bytes(b"half a page")
    write_report(whole(plain), place, force=True)
    assert place.read_bytes() == first
    assert [p.name for p in place.parent.iterdir()] == ["report.html"]


def test_a_report_knows_itself_and_no_other_page(plain, whole, tmp_path):
    place = tmp_path / "report.html"
    write_report(whole(plain), place)
    other = tmp_path / "mine.html"
    other.write_text("<!DOCTYPE html><title>mine</title>")
    assert is_report(place)
    assert not is_report(other)
    assert not is_report(tmp_path / "nothing.html")


def test_more_than_two_ports_open_with_a_row_each_and_fewer_with_their_cards(drilled, whole):
    one = whole(drilled)
    several = report_page(replace(one, stages=one.stages * 3))
    table = several.partition("All ports at a glance")[2].partition("</table>")[0]
    assert table.count('<th scope="row">') == 3
    told = first_answers(one.job, one.stages[0].answers, one.stages[0].cutting, Shown("mm"))
    for answer in told:
        assert table.count(text(answer.figure)) == 3
    assert several.index("All ports at a glance") < several.index('aria-label="At a glance"')
    assert "All ports at a glance" not in report_page(one)
