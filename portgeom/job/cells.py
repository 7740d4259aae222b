"""What do the cells of a CSV table say, and in which row does each stand?

Commas between cells, or semicolons with a decimal point or a decimal comma, as spreadsheets save them.
Row 1 is the first line of the file; blank rows are counted and passed over.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass

from portgeom.job.faults import Spot, closest, nearest, printable, shown
from portgeom.job.kinds import Number
from portgeom.job.values import Units

MOST_COLUMNS = 100

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the cells that are filled, by column, without blanks round them."""

    whole: Spot
    row: int
    cells: dict[str, str]
    decimal_comma: bool

    def at(self, column: str) -> Spot:
        """Return the spot of a cell."""
        return self.whole.cell(self.row, column)

    def text(self, column: str) -> str:
        """Return a cell, "" where it is blank or there is no such column."""
        return self.cells.get(column, "")

    def number(self, column: str, kind: Number, units: Units) -> float | None:
        """Return a cell as a number of ``kind``, or None where it is blank or, told as a fault, no number."""
        if column not in self.cells:
            return None
        cell = self.cells[column]
        text = cell.replace(",", ".") if self.decimal_comma and "." not in cell else cell
        if not _NUMBER.fullmatch(text):
            self.at(column).fault(f"{shown(cell)} is not a number", self._mend(cell))
            return None
        number = kind.within(float(text), units)
        return kind.read(float(text), self.at(column), units) if number is None else number

    def _mend(self, cell: str) -> str:
        if "," in cell and not self.decimal_comma:
            return "write a decimal point, or separate the cells by semicolons"
        if _NUMBER.match(cell):
            return "write the number alone; the unit is the job's"
        return "write a number such as 41.5"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table of cells. ``header`` is the spot of its first row."""

    header: Spot
    columns: frozenset[str]
    rows: tuple[Row, ...]


def read_sheet(
    text: str, whole: Spot, *, known: tuple[str, ...], required: tuple[str, ...], most_rows: int
) -> Sheet | None:
    """Return the cells of a table, or None where there are none to speak of; faults are taken down.

    Parameters
    ----------
    whole : Spot
        The file as a whole.
    known, required : tuple of str
        Columns there may be, and those there must be.
    """
    separator = _separator(text)
    if separator == "\t":
        whole.fault("has tabs between its cells", "save it as CSV, with commas or semicolons")
        return None
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    names: list[str] | None = None
    header = whole
    rows: list[Row] = []
    try:
        for number, cells in enumerate(reader, start=1):
            stripped = [c.strip() for c in cells]
            if not any(stripped):
                continue
            if names is None:
                header = whole.cell(number, "row")
                if len(stripped) > MOST_COLUMNS:
                    header.fault(f"has {len(stripped)} columns", f"give at most {MOST_COLUMNS}")
                    return None
                names = _columns(stripped, header, known, required)
            elif len(rows) == most_rows:
                whole.cell(number, "row").fault(
                    f"is row {most_rows + 1} of the table's own", f"give at most {most_rows}"
                )
                return None
            else:
                rows.append(_row(stripped, names, whole, number, separator))
    except csv.Error as error:
        whole.cell(reader.line_num, "row").fault(
            f"is not a row of a CSV table ({error})", "look for a quotation mark too many or too few"
        )
        return None
    if names is None:
        mend = f"begin with a row of column names, {' and '.join(required)} among them; known are {', '.join(known)}"
        whole.fault("is empty", mend)
        return None
    return Sheet(header, frozenset(names) - {""}, tuple(rows))


def _separator(text: str) -> str:
    first = next((line for line in io.StringIO(text, newline=None) if line.strip()), "")
    return next((s for s in (";", ",", "\t") if s in first), ",")


def _columns(cells: list[str], header: Spot, known: Iterable[str], required: Iterable[str]) -> list[str]:
    """Return the column names, "" where a column is not one to be read.

    What the rows then lack of a column that is only misspelt is not told besides.
    """
    names: list[str] = []
    meant: set[str] = set()
    for cell in cells:
        name = cell.casefold()
        spot = header.cell(header.row, printable(cell[:40]) or "column")
        if name and name not in known:
            spot.fault("is not a column of this table", nearest(name, known, what="column"))
            meant.add(closest(name, known) or "")
            name = ""
        elif name and name in names:
            spot.fault("is the name of two columns", "keep one of them")
            name = ""
        names.append(name)
    for name in meant.difference(names, [""]):
        header.gathered.mistake(header.file, name)
    for name in required:
        if name not in names:
            header.cell(header.row, name).fault("this column is missing", f"add the column {name}")
    return names


def _row(cells: list[str], names: list[str], whole: Spot, number: int, separator: str) -> Row:
    beyond = next((cell for cell in cells[len(names) :] if cell), None)
    if beyond is not None:
        more = "; a decimal comma makes two cells of one" if separator == "," else ""
        whole.cell(number, "row").fault(
            f"has the cell {shown(beyond)} beyond the last column", f"give every cell its column{more}"
        )
    filled = {name: cell for name, cell in zip(names, cells, strict=False) if name and cell}
    return Row(whole, number, filled, separator == ";")
