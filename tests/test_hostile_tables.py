"""Three hundred tables as spreadsheets and hands spoil them: no row is swallowed.

Each table is spoiled in one to three ways by a seeded generator. Either every piece that was typed
is read with the load that was typed, or the table is refused and each spoiled row is named, or the
whole file is (encoding, header).
"""

import re

import numpy as np
import pytest

from thread_repair.errors import InputError
from thread_repair.report.selection import select
from thread_repair.uncertainty.pull_tests.reading import read

COLUMNS = ("piece", "state", "size", "engagement", "peak_load", "failure_mode")
KEYS = ("name", "thread", "screw", "parent", "engagement", "insert_length", "damage")
ROWS = 24


def pieces(generator):
    loads = 25000 + generator.integers(-900, 900, ROWS)
    return [
        [f"P{i:02d}", "original", "M8x1.25", "8 mm", f"{load} N", "parent_thread_strip"]
        for i, load in enumerate(loads)
    ]


def cases(generator):
    return [
        [
            f"c{i:02d}",
            "M8x1.25",
            "8.8",
            "6061-T6",
            "12 mm",
            "1.5 D",
            f"worn {generator.integers(9)}",
        ]
        for i in range(ROWS)
    ]


# ---- ways to spoil lines: each returns which ones must be named, none where the table stays good


def stray_mark(lines, at, separator):
    cells = lines[at].split(separator)
    cells[1] = '"' + cells[1]
    lines[at] = separator.join(cells)
    return {at}


def two_stray_marks(lines, at, separator):
    return stray_mark(lines, at, separator) | stray_mark(lines, (at + 5) % ROWS, separator)


def mark_at_the_end(lines, at, separator):
    lines[at] += '"'
    return {at}


def inch_mark(lines, at, separator):
    lines[at] = lines[at].replace("M8", '1/4"')
    return {at}


def text_after_a_mark(lines, at, separator):
    first, rest = lines[at].split(separator, 1)
    lines[at] = f'"{first}"x"{separator}{rest}'
    return {at}


def break_in_a_cell(lines, at, separator):
    first, rest = lines[at].split(separator, 1)
    lines[at] = f'"{first}\n second line"{separator}{rest}'
    return {at}


def page_break_in_a_cell(lines, at, separator):
    lines[at] = lines[at].replace("M8", "M8\f")
    return {at}


def line_separator_in_a_cell(lines, at, separator):
    lines[at] = lines[at].replace("M8", "M8\u2028")
    return {at}


def cell_missing(lines, at, separator):
    lines[at] = lines[at].rsplit(separator, 1)[0]
    return {at}


def cell_too_many(lines, at, separator):
    lines[at] += separator + "and this"
    return {at}


def cut_off(lines, at, separator):
    lines[-1] = lines[-1][: len(lines[-1]) // 2]
    return {ROWS - 1}


def other_separator(lines, at, separator):
    lines[at] = lines[at].replace(separator, {",": ";", ";": ",", "\t": ";"}[separator])
    return {at}


def comma_in_a_number(lines, at, separator):
    lines[at] = lines[at].replace("8 mm", "8,05 mm").replace("12 mm", "12,05 mm")
    # Where commas part no cells and no number has a point, it can be nothing but a decimal comma.
    return {at} if separator == "," or "1.5 D" in lines[at] else set()


def twice(lines, at, separator):
    lines[at] = lines[at - 1]
    return {max(at, (at - 1) % ROWS)}


def quoted(lines, at, separator):
    lines[at] = separator.join(f'"{cell}"' for cell in lines[at].split(separator))
    return set()


def padded(lines, at, separator):
    lines[:] = [line + separator * 3 for line in lines]
    return set()


def padded_row(lines, at, separator):
    lines[at] += separator * 2
    return set()


def empty_lines(lines, at, separator):
    lines[-1] += "\n" + separator * 4 + "\n\n"
    return set()


SPOILED = [
    stray_mark, two_stray_marks, mark_at_the_end, inch_mark, text_after_a_mark, break_in_a_cell,
    page_break_in_a_cell, line_separator_in_a_cell, cell_missing, cell_too_many, cut_off,
    other_separator, comma_in_a_number, twice, quoted, padded, padded_row, empty_lines,
]  # fmt: skip
FILES = {
    "utf-8": lambda text, _: text.encode(),
    "mark": lambda text, _: b"\xef\xbb\xbf" + text.encode(),
    "utf-16": lambda text, _: text.encode("utf-16"),
    "crlf": lambda text, _: text.replace("\n", "\r\n").encode(),
    "cr": lambda text, _: text.replace("\n", "\r").encode(),
    "sep": lambda text, separator: f"sep={separator}\n{text}".encode(),
    "utf-16 without its mark": lambda text, _: text.encode("utf-16-le"),
    "latin": lambda text, _: b"# Pr\xfcfung\n" + text.encode(),
}
WHOLE = {"utf-16 without its mark", "latin"}


def table(seed, columns, made):
    """Return the bytes of a spoiled table, rows that must be named (None: the file), what was typed."""
    generator = np.random.default_rng([17, seed])
    separator = str(generator.choice([",", ";", "\t"]))
    typed = made(generator)
    lines = [separator.join(row) for row in typed]
    header = [separator.join(columns)]
    named, touched = set(), set()
    for way in generator.choice(SPOILED, int(generator.integers(1, 4)), replace=False):
        at = int(generator.integers(ROWS))
        rows = {at - 1, at, (at + 5) % ROWS}
        if way in (cut_off, empty_lines):
            rows.add(ROWS - 1)
        if rows & touched:
            continue  # one spoiling of a row at a time, or the second may hide the first
        touched |= rows
        named |= way(lines, at, separator)
        if way is padded:
            padded(header, at, separator)
    kind = str(generator.choice(list(FILES)))
    # The header is row 1, and a line break in a cell moves what follows by one.
    starts = 2 + np.cumsum([0, *(line.count("\n") + 1 for line in lines)])
    data = FILES[kind]("\n".join([*header, *lines]) + "\n", separator)
    return data, None if kind in WHOLE else {int(starts[at]) for at in named}, typed


def rows_of(error):
    return {int(row) for row in re.findall(r"row (\d+)", str(error))}


def test_no_piece_is_swallowed(tmp_path, every):
    @every(range(200))
    def _(seed):
        data, named, typed = table(seed, COLUMNS, pieces)
        file = tmp_path / "tests.csv"
        file.write_bytes(data)
        if named is None:
            with pytest.raises(InputError, match=r"tests\.csv"):
                read(file)
        elif named:
            with pytest.raises(InputError) as error:
                read(file)
            assert named <= rows_of(error.value)
        else:
            found = read(file)
            assert list(found.pieces["piece"]) == [row[0] for row in typed]
            np.testing.assert_array_equal(
                found.pieces["load"], [float(row[4][:-2]) for row in typed]
            )


def test_no_case_is_swallowed(tmp_path, every):
    @every(range(200, 300))
    def _(seed):
        data, named, typed = table(seed, KEYS, cases)
        file = tmp_path / "jobs.csv"
        file.write_bytes(data)
        try:
            jobs = select([file], formats=("html",))
        except InputError as error:
            assert "jobs.csv" in str(error)
            assert named is None or named & rows_of(error), f"a good table was refused: {error}"
        else:
            assert [job.name for job in jobs] == [row[0] for row in typed]
            # A comma in a number is no fault of the table: it is told when the case is read.
            kept = [dict(job.row) for job in jobs]
            told = {at + 2 for at, row in enumerate(typed) if kept[at]["engagement"] != row[4]}
            assert told == named
            assert [row["damage"] for row in kept] == [row[6] for row in typed]
