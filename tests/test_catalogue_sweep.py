"""The catalogue agrees with single evaluations, is tidy, and says what it leaves out."""

import csv
import sys

import numpy as np
import pandas as pd
import pytest

import thread_repair as tr
from thread_repair import catalogue_sweep, materials, threads
from thread_repair.cli import main
from thread_repair.errors import InputError
from thread_repair.joint.records import Evaluation


def rows(**options):
    (table,) = catalogue_sweep.sweep_threads([threads.thread(options.pop("thread"))], **options)
    return table


@pytest.mark.parametrize(
    ("thread", "parent", "screw", "diameters"),
    [
        ("M8", "6061-T6", "8.8", 1.5),
        ("M20", "AZ91D", "12.9", 3.0),
        ("1/4-20 UNC", "A356.0-T6-sand", "160-ksi", 2.0),
        ("3/8 BSF", "EN-GJL-250", "4.6", 1.0),
    ],
)
def test_a_row_is_what_evaluate_gives(thread, parent, screw, diameters):
    table = rows(thread=thread, parents=[parent], screws=[screw], lengths=[diameters])
    found: Evaluation = tr.evaluate(
        tr.read(
            {
                "thread": thread,
                "parent": parent,
                "screw": screw,
                "engagement": f"{diameters} D",
                "insert_length": f"{diameters} D",
            }
        )
    )
    for state in ("original", "repaired"):
        assert table[f"{state}_pull_out_N"][0] == pytest.approx(
            getattr(found, state).pull_out, rel=1e-9
        )
        assert table[f"{state}_strength_N"][0] == pytest.approx(
            getattr(found, state).strength, rel=1e-9
        )
        breaks = getattr(found, state).engagement > getattr(found, state).required_engagement
        assert bool(table[f"screw_breaks_first_{state}"][0]) == breaks


def test_the_file_is_tidy(tmp_path, capsys):
    file = tmp_path / "c.csv"
    assert main(["catalogue", "--out", str(file), "--threads", "M6", "M2x0.25"]) == 0
    printed = capsys.readouterr()
    assert "left out M2x0.25: " in printed.err
    found = list(csv.DictReader(file.read_text().splitlines()))
    assert f"{len(found)} joints" in printed.out
    assert list(found[0]) == list(catalogue_sweep.COLUMNS)
    keys = {tuple(row[name] for name in list(catalogue_sweep.COLUMNS)[:4]) for row in found}
    assert len(keys) == len(found)
    table = rows(thread="M6")
    for name in ("original_pull_out_N", "repaired_strength_N"):
        np.testing.assert_allclose([float(row[name]) for row in found], table[name], atol=0.51)
    assert sorted(tmp_path.iterdir()) == [file]


def test_names_need_no_quotes_in_csv():
    names = (
        *(t.designation for t in threads.known()),
        *materials.names("parent"),
        *materials.names("screw"),
    )
    assert not [name for name in names if {",", '"', "\n", "%"} & set(name)]


def test_the_needed_length_is_the_shortest_that_lets_the_screw_break():
    found = catalogue_sweep.needed_lengths(threads.thread("M8"))
    strongest = [materials.screw(name, 8.0).tensile_max for name in found]
    assert strongest == sorted(strongest)
    table = rows(thread="M8", parents=["6061-T6"], screws=["8.8"])
    first = table["insert_length_d"][table["screw_breaks_first_repaired"]].min()
    assert found.loc["6061-T6", "8.8"] == first
    # A weaker parent never needs less.
    strong, weak = (found.loc[parent] for parent in ("7075-T651", "6063-T5-typical"))
    assert not np.any(strong > weak.fillna(np.inf))


def test_the_needed_lengths_of_parents_stand_as_they_are_named():
    parents = ["7075-T651", "6061-T6", "6082-T6"]
    found = catalogue_sweep.needed_lengths(threads.thread("M8"), parents=parents, screws=["8.8"])
    assert [*found.index] == parents


def test_the_chart(tmp_path, capsys):
    from thread_repair.figures.strip_load import insert_length_chart

    needed = pd.DataFrame([[1, np.nan], [3, 2]], index=["a", "b"], columns=["8.8", "x$y"])
    drawing = insert_length_chart(needed, thread="M8")
    texts = [text.get_text() for text in drawing.axes[0].texts]
    assert texts == ["1", "–", "3", "2"]
    # A chart is cut out and hung up: what it leaves out and what it is stand on it.
    below = drawing.get_supxlabel()
    assert "brittle" in below and "competent person" in below
    assert main(["catalogue", "--chart", str(tmp_path / "c.gif"), "--threads", "M8"]) == 2
    assert main(["catalogue", "--chart", str(tmp_path / "c.svg")]) == 2
    assert main(["catalogue"]) == 2
    assert not list(tmp_path.iterdir())
    capsys.readouterr()


def test_neither_table_nor_chart_overwrites_a_file(tmp_path, capsys):
    kept, new = tmp_path / "marks.csv", tmp_path / "new" / "c.svg"
    kept.write_text("mine")
    some = ["catalogue", "--threads", "M8", "--parents", "6061-T6", "--screws", "8.8"]
    assert main([*some, "--chart", str(new), "--out", str(kept)]) == 2
    assert capsys.readouterr().err == f"{kept} exists already; give another path\n"
    assert (kept.read_text(), [*tmp_path.iterdir()]) == ("mine", [kept])
    assert main([*some, "--chart", str(new)]) == 0
    drawn = new.read_bytes()
    assert main([*some, "--chart", str(new)]) == 2
    assert new.read_bytes() == drawn and [*new.parent.iterdir()] == [new]


def test_a_screw_that_no_table_knows_is_not_one_left_out(tmp_path, capsys):
    command = ["catalogue", "--out", str(tmp_path / "c.csv"), "--threads", "M8"]
    assert main([*command, "--screws", "8.9"]) == 2
    assert "unknown screw '8.9'; did you mean '8.8'" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
    # Known, but not at this diameter: left out, and said so.
    assert main([*command[:-1], "M42", "--screws", "8.8"]) == 0
    assert "no screw class covers its diameter" in capsys.readouterr().err


def test_a_file_that_cannot_be_written_is_a_sentence(tmp_path):
    (tmp_path / "f").write_text("x")
    with pytest.raises(InputError, match="cannot be written"):
        catalogue_sweep.write(tmp_path / "f" / "c.csv", [])


def test_parquet_says_what_the_csv_says(tmp_path):
    from pyarrow import csv, parquet

    tables = [rows(thread="M8", parents=["6061-T6"], screws=["8.8"])]
    assert catalogue_sweep.write(tmp_path / "c.parquet", tables) == (5, ())
    assert catalogue_sweep.write(tmp_path / "c.csv", tables) == (5, ())
    one, other = parquet.read_table(tmp_path / "c.parquet"), csv.read_csv(tmp_path / "c.csv")
    assert one.column_names == other.column_names
    for name in one.column_names:
        for a, b in zip(one[name].to_pylist(), other[name].to_pylist(), strict=True):
            # the CSV has fewer digits, and nothing where there is no value
            assert b in (a, "", None) or float(b) == pytest.approx(float(a), rel=1e-4), name


def test_parquet_without_its_library_is_a_sentence(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(InputError, match=r"^a \.parquet file needs the library pyarrow"):
        catalogue_sweep.write(tmp_path / "c.parquet", [])
    assert not list(tmp_path.iterdir())


def test_a_joint_stands_there_once_whatever_names_it_was_asked_by(tmp_path, capsys):
    """M8 is M8x1.25, and ADC12 is given the strength of EN-AC-46100: it is said."""
    file = tmp_path / "joints.csv"
    names = ["--threads", "M8", "M8x1.25", "--parents", "6061-T6", "ADC12", "EN-AC-46100"]
    assert main(["catalogue", *names, "--screws", "8.8", "8.8", "--out", str(file)]) == 0
    table = pd.read_csv(file)
    assert len(table) == len(table.drop_duplicates()) == 2 * 5
    said = capsys.readouterr().err
    assert "ADC12" in said and "EN-AC-46100" in said and "6061-T6" not in said
