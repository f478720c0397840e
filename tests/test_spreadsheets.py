"""Tables as spreadsheets write them: XLSX, decimal commas, and what a cell only seems to hold."""

import datetime

import openpyxl
import pytest

from thread_repair import case as cases
from thread_repair import sheets
from thread_repair.errors import InputError
from thread_repair.report.selection import select
from thread_repair.uncertainty.pull_tests.reading import read

HEAD = ["name", "thread", "screw", "parent", "engagement", "insert_length"]
ROW = ["a", "M8x1.25", 8.8, "6061-T6", "12 mm", "1.5 D"]


def workbook(folder, *rows, name="jobs.xlsx", change=lambda sheet: None):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    change(book.active)
    book.save(folder / name)
    return folder / name


def test_a_workbook_is_one_case_a_row(tmp_path):
    file = workbook(tmp_path, ["# invented"], HEAD, ROW, [], ["b", *ROW[1:4], 12, "1.5 D"])
    jobs = select([file], formats=("html",))
    assert [job.name for job in jobs] == ["a", "b"]
    assert jobs[0].row["screw"] == "8.8" and jobs[1].row["engagement"] == "12"
    assert jobs[0].out == tmp_path / "jobs" / "a"


def fault(tmp_path, value, look="General", **other):
    def change(sheet):
        sheet["E2"] = value
        sheet["E2"].number_format = look
        for place, text in other.items():
            sheet[place] = text

    with pytest.raises(InputError) as caught:
        select([workbook(tmp_path, HEAD, ROW, change=change)], formats=("html",))
    return str(caught.value)


@pytest.mark.parametrize(
    ("value", "look", "said"),
    [
        (0.5, '0.0" in"', "row 2, column engagement: the format of the cell"),
        (12, "0000", "shows more than its value 12"),
        ("=6*2", "General", "holds a formula that was never calculated"),
        ("#DIV/0!", "General", "the spreadsheet shows the error #DIV/0!"),
    ],
)
def test_a_cell_that_does_not_hold_what_is_seen(tmp_path, value, look, said):
    assert said in fault(tmp_path, value, look)


@pytest.mark.parametrize(
    "look", ["#,##0.00", "0.0E+00", '_-* #,##0.00_-;\\-* #,##0.00_-;_-* "-"??_-;_-@_-', "0.0;-0.0"]
)
def test_a_format_that_shows_the_number_alone(tmp_path, look):
    def change(sheet):
        sheet["E2"], sheet["E2"].number_format = 12.5, look

    [job] = select([workbook(tmp_path, HEAD, ROW, change=change)], formats=("html",))
    assert job.row["engagement"] == "12.5"


def test_a_title_above_the_header(tmp_path):
    title = ["Repairs of gear box 7 (invented)"]
    for change in (lambda sheet: None, lambda sheet: sheet.merge_cells("A1:F1")):
        with pytest.raises(InputError) as caught:
            select([workbook(tmp_path, title, HEAD, ROW, change=change)], formats=("html",))
        said = "row 1 names no key; expected the header there, and '#' in front of a title above it"
        assert str(caught.value).endswith(said)


def test_a_class_that_the_spreadsheet_took_for_a_date(tmp_path):
    file = workbook(tmp_path, HEAD, [*ROW[:2], datetime.datetime(2026, 8, 8), *ROW[3:]])
    with pytest.raises(InputError) as caught:
        select([file], formats=("html",))
    assert "row 2, column screw: 2026-08-08: a spreadsheet made this date of" in str(caught.value)


def test_blanks_around_a_value_are_nothing(tmp_path):
    keys = {**dict(zip(HEAD[1:], map(str, ROW[1:]), strict=True)), "quantity": "2"}
    for pad in (" ", "\u00a0"):
        case = cases.read({key: f"{pad}{text}{pad}" for key, text in keys.items()})
        assert (case.quantity, case.parent, case.screw) == (2, "6061-T6", "8.8")


def test_text_beside_the_table_and_joined_cells(tmp_path):
    assert "stands in column 8, which has no name" in fault(tmp_path, "12 mm", H2="x")
    file = workbook(tmp_path, HEAD, ROW, ROW, change=lambda sheet: sheet.merge_cells("A2:A3"))
    with pytest.raises(InputError, match="row 2, column name: joined cells"):
        select([file], formats=("html",))


def test_what_is_no_workbook(tmp_path):
    (tmp_path / "x.xlsx").write_bytes(b"name,thread\n")
    with pytest.raises(InputError, match=r"x\.xlsx is not an XLSX workbook; save it as \.xlsx"):
        sheets.read(tmp_path / "x.xlsx")


def test_percent_dates_and_truth(tmp_path):
    def change(sheet):
        sheet["A2"].number_format = "0%"

    row = [0.04, datetime.date(2026, 11, 25), True, False]
    file = workbook(tmp_path, ["a", "b", "c", "d"], row, change=change)
    (cells,) = sheets.read(file).cells.to_numpy()
    assert list(cells) == ["4 %", "2026-11-25", "yes", "no"]


def test_other_sheets_and_hidden_rows_are_told(tmp_path):
    file = workbook(
        tmp_path,
        HEAD,
        ROW,
        change=lambda sheet: sheet.row_dimensions.__getitem__(2).__setattr__("hidden", True),
    )
    book = openpyxl.load_workbook(file)
    book.create_sheet("old")
    book.active.column_dimensions["B"].hidden = True
    book.save(file)
    assert sheets.read(file).words == (
        "hidden rows are read too (1, the first is row 2); "
        "hidden columns are read too (the first is column B); sheets left out: 'old'"
    )


def numbers(tmp_path, text):
    file = tmp_path / "x.csv"
    file.write_bytes(text)
    sheet = sheets.read(file)
    sheet = sheet.quantities(range(1, len(sheet.header)))
    return [list(row) for row in sheet.cells.to_numpy()], [str(each) for each in sheet.faults]


@pytest.mark.parametrize("mark", [";", "\t"])
@pytest.mark.parametrize("start", [b"", b"\xef\xbb\xbf"])
def test_decimal_commas_where_commas_part_no_cells(tmp_path, mark, start):
    text = "serials,of;a;b\n1,2;12,5 mm;0,10 to 0,14\n3;9,5 mm\n".replace(";", mark)
    cells, faults = numbers(tmp_path, start + text.encode())
    assert cells == [["1,2", "12.5 mm", "0.10 to 0.14"]]
    # what was wrong before stays so: a row that is lost is told of
    assert faults == ["row 3: 2 cells where the header has 3"]


@pytest.mark.parametrize("rows", [b"x;1,250 N\n", b"x;1,25 N\ny;2.5 N\n"])
def test_a_comma_that_may_part_thousands_is_refused(tmp_path, rows):
    cells, faults = numbers(tmp_path, b"n;a\n" + rows)
    assert "row 2, column a: " in faults[0] and "may part thousands or decimals" in faults[0]
    assert ["x", "1.25 N"] not in cells


def test_a_comma_of_three_places_beside_one_that_is_sure(tmp_path):
    cells, faults = numbers(tmp_path, b"n;a\nx;1,250 mm\ny;1,25 mm\n")
    assert [row[1] for row in cells] == ["1.250 mm", "1.25 mm"] and faults == []


def test_pull_tests_from_a_workbook_and_with_decimal_commas(tmp_path):
    head = ["piece", "state", "size", "engagement", "peak_load [kN]", "failure_mode"]
    rows = [
        [f"p{n}", "original", "M8x1.25", "8 mm", 25.1 + n, "parent_thread_strip"] for n in range(3)
    ]
    found = read(workbook(tmp_path, ["# invented"], head, *rows, name="tests.xlsx"))
    assert (
        list(found.pieces["load"]) == pytest.approx([25100, 26100, 27100])
        and found.note == "invented"
    )
    text = ";".join(head) + "\n" + "".join(
        ";".join(map(str, row)).replace("25.1", "25,1").replace("26.1", "26,1").replace("27.1", "27,1").replace("M8x1,25", "M8x1.25") + "\n"
        for row in rows
    )  # fmt: skip
    (tmp_path / "tests.csv").write_text("\ufeff" + text, encoding="utf-8")
    assert list(read(tmp_path / "tests.csv").pieces["load"]) == pytest.approx([25100, 26100, 27100])


@pytest.mark.parametrize("name", ["jobs.xlsx", "jobs.csv"])
def test_a_table_to_start_from_is_read_as_it_is(tmp_path, name, capsys):
    from thread_repair.case import keys, read
    from thread_repair.cli import main

    assert main(["new", "--table", str(tmp_path / name)]) == 0
    (job,) = select([tmp_path / name], formats=("html",))
    assert job.name == "pump-cover" and read(job.row).thread == "M8x1.25"
    assert sheets.read(tmp_path / name).words == ""
    assert main(["new", "--table", str(tmp_path / name)]) == 2
    assert "exists already" in capsys.readouterr().err
    if name.endswith("xlsx"):
        help_ = openpyxl.load_workbook(tmp_path / name)["keys"]
        empty = {row[0].value: row[3].value for row in help_.iter_rows(min_row=3)}
        assert empty.keys() == set(keys())
        assert (empty["thread"], empty["temperature"], empty["load_factor"]) == (
            "needed", "20 degC", "1",
        )  # fmt: skip
    assert main(["new"]) == 2 and main(["new", "--table", "x.ods"]) == 2
