"""Whatever stands in a job's files, either a job of finite numbers comes of it or JobError does."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portgeom.job.faults import JobError, line
from portgeom.job.read import read_job
from portgeom.job.values import Job, Note

FUZZ = settings(max_examples=120, derandomize=True, deadline=None, database=None)

CRUMBS = st.sampled_from(
    [
        *"[]{}=,;.\"'#\n\r\t\\-+_ \x00\x1b\ufeff\u2212\u0664é",
        *("[[port]]", "[[port.stage]]", "[port]", "[[target]]", "[limits]", '"""', "'''", "\r\n", "units", "name"),
        *("nan", "inf", "-inf", "true", "1e308", "-1e308", "1e-308", "9" * 400, "0", "-1", "1", "0.0005", "2.5"),
        *("1979-05-27", "07:32:00", "0x1F", "[]", "{}", "[[0, 1], [1, 2]]", '""', '"1"', '"../x"', '"cast-1.csv"'),
        *("circle", "ellipse", "rectangle", "obround", "outline", "u,v", ",,,", ";;", "traces/a.csv", ".", "seat"),
    ]
)


@pytest.fixture(scope="session")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder that is written over by every example."""
    return tmp_path_factory.mktemp("fuzz")


def read_or_refuse(root: Path, texts: dict[str, str], **changed: str) -> None:
    """Read a job; only a sound job or well-told faults may come of it."""
    for name, text in {**texts, **changed}.items():
        path = root / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
    try:
        found: Job | tuple[Note, ...] = read_job(root)
    except JobError as error:
        found = error.faults
    if isinstance(found, Job):
        assert all(np.isfinite(number).all() for number in numbers(found))
        return
    assert found
    for fault in found:
        assert fault.field
        assert fault.found
        assert fault.mend
        assert line(fault).isprintable()


def numbers(value: object) -> Iterator[object]:
    """Yield every number and array within a value."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            yield from numbers(getattr(value, field.name))
    elif isinstance(value, tuple):
        for item in value:
            yield from numbers(item)
    elif isinstance(value, float | np.ndarray):
        yield value


@FUZZ
@given(text=st.one_of(st.text(max_size=200), st.lists(CRUMBS, max_size=60).map("".join)))
def test_any_job_text(root: Path, texts_of_a_valid_job: dict[str, str], text: str) -> None:
    read_or_refuse(root, texts_of_a_valid_job, **{"job.toml": text})


@FUZZ
@given(
    name=st.sampled_from(["cast-1.csv", "cast-2.csv", "traces/b.csv", "walls.csv"]),
    text=st.one_of(st.text(max_size=200), st.lists(CRUMBS, max_size=60).map("".join)),
)
def test_any_table_text(root: Path, texts_of_a_valid_job: dict[str, str], name: str, text: str) -> None:
    read_or_refuse(root, texts_of_a_valid_job, **{name: text})


@FUZZ
@given(
    separator=st.sampled_from(",;"),
    rows=st.lists(st.lists(CRUMBS, min_size=12, max_size=12), max_size=6),
)
def test_any_cells_under_a_sound_header(
    root: Path, texts_of_a_valid_job: dict[str, str], separator: str, rows: list[list[str]]
) -> None:
    header = texts_of_a_valid_job["cast-1.csv"].split("\n")[0]
    lines = [header, *(",".join(row) for row in rows)]
    text = "\n".join(lines).replace(",", separator)
    read_or_refuse(root, texts_of_a_valid_job, **{"cast-1.csv": text})


EDITS = st.lists(
    st.tuples(
        st.sampled_from(["job.toml", "job.toml", "job.toml", "cast-1.csv", "cast-2.csv", "traces/b.csv", "walls.csv"]),
        st.floats(0.0, 1.0, exclude_max=True),
        st.integers(0, 12),
        st.one_of(st.just(""), CRUMBS, st.text(max_size=5)),
    ),
    min_size=1,
    max_size=4,
)


@settings(FUZZ, max_examples=300)
@given(edits=EDITS)
def test_any_edit_of_a_sound_job(
    root: Path, texts_of_a_valid_job: dict[str, str], edits: list[tuple[str, float, int, str]]
) -> None:
    texts = dict(texts_of_a_valid_job)
    for name, share, cut, put in edits:
        at = int(share * len(texts[name]))
        texts[name] = texts[name][:at] + put + texts[name][at + cut :]
    read_or_refuse(root, texts)


VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(10**20), 10**20),
        st.floats(),
        st.sampled_from(['"1"', '""', '"as cast"', '"28 inH2O"', "1979-05-27"]),
    ),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=8,
)


@settings(FUZZ, max_examples=250)
@given(share=st.floats(0.0, 1.0, exclude_max=True), value=VALUES)
def test_any_value_behind_any_key(
    root: Path, texts_of_a_valid_job: dict[str, str], share: float, value: object
) -> None:
    lines = texts_of_a_valid_job["job.toml"].split("\n")
    keyed = [i for i, row in enumerate(lines) if "=" in row]
    at = keyed[int(share * len(keyed))]
    lines[at] = f"{lines[at].partition('=')[0]}= {toml(value)}"
    read_or_refuse(root, texts_of_a_valid_job, **{"job.toml": "\n".join(lines)})


def toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(toml(item) for item in value)}]"
    return str(value)
