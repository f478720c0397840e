"""The command line: exit codes, one sentence per fault, nothing left behind."""

import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from thread_repair import load, study
from thread_repair.cli import main
from thread_repair.report.blocks.comparison import alternatives_table
from thread_repair.report.blocks.conclusion import criteria_table

ROOT = Path(__file__).parent.parent
NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "8 mm",
    "insert_length": "1.5 D",
}


def write(folder, **changes):
    folder.mkdir(exist_ok=True)
    file = folder / "case.yaml"
    file.write_text("".join(f"{k}: {v}\n" for k, v in {**NEEDED, **changes}.items()))
    return file


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"thread": "M8x1.26"}, "thread: "),
        ({"thread": "5/17-20 UNC"}, "thread: "),
        ({"engagement": "-8 mm"}, "engagement: '-8 mm' must be above zero"),
        ({"engagement": "12 kg"}, "engagement: '12 kg' is not a length"),
        ({"design_load": "12 kg"}, "design_load: '12 kg' is not a force"),
        ({"engagment": "8 mm"}, "engagment: unknown key; did you mean 'engagement'?"),
        ({"load": "8 kN"}, "load: unknown key; did you mean 'design_load' or "),
        ({"tightening_torque": "8 N·m"}, "did you mean 'torque' or 'tightening_tool'?"),
        ({"hole_kind": "blind", "hole_depth": "10 mm"}, "hole_depth: '10 mm' is too shallow"),
        ({"temperature": "400 degC"}, "400"),
        ({"parent": "6062"}, "did you mean"),
    ],
)
@pytest.mark.parametrize("command", ["evaluate", "report"])
def test_wrong_input_gets_one_sentence_and_exit_code_2(tmp_path, capsys, command, changes, says):
    file = write(tmp_path / "case", **changes)
    assert main([command, str(file)]) == 2
    printed = capsys.readouterr()
    assert says in printed.err
    assert len(printed.err.splitlines()) == 1
    assert "Traceback" not in printed.err
    assert printed.out == ""
    assert list(tmp_path.rglob("*")) == [file.parent, file]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["evaluate", "none.yaml"], "cannot be read: No such file"),
        (["report", "none.yaml"], "cannot be read: No such file"),
        (["reprot"], "invalid choice"),
        (["report", ""], "the name is empty"),
        (["report", "x.yaml", "--out", " "], "the name is empty"),
        (["evaluate", ""], "the name is empty"),
        (["new", ""], "the name is empty"),
        (["workbook", "--no-browser", "--port", "65536"], "expected 1 to 65535"),
        (["list", "nuts"], "invalid choice"),
        (["report", "x.yaml", "--jobs", "0"], "not a number of jobs"),
        (["report", "x.yaml", "--notebook", "desing_review"], "unknown notebook"),
        ([], "required"),
    ],
)
def test_wrong_commands(capsys, arguments, says):
    assert main(arguments) == 2
    error = capsys.readouterr().err
    assert says in error
    assert len(error.splitlines()) == 1


def test_every_fault_of_a_file_is_printed(tmp_path, capsys):
    file = write(tmp_path, engagement="12 kg", load_factor="-1", colour="red")
    assert main(["evaluate", str(file)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 3


def test_evaluate_prints_the_results_document(tmp_path, capsys):
    file = write(tmp_path, tolerance_position="minimum-material")
    assert main(["evaluate", str(file), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == "thread-repair-results/1"
    (mode,) = (
        m
        for m in document["states"]["original"]["modes"]
        if m["mode"] == "parent_thread_strip" and m["primary"]
    )
    assert mode["area_mm2"] == pytest.approx(134.63, rel=1e-3)
    assert mode["method"] == "fed_std_h28"


def test_evaluate_prints_a_summary(tmp_path, capsys):
    assert main(["evaluate", str(write(tmp_path))]) == 0
    text = capsys.readouterr().out
    assert "The calculation" in text and "Thread-stripping strength" in text
    assert "competent person" in text


def test_compare_prints_the_options_side_by_side(tmp_path, capsys):
    """A M8 of class 8.8 breaks at 29.3 kN: no option that keeps it carries 1 x 30 kN."""
    file = write(tmp_path, engagement="12 mm", design_load="30 kN")
    assert main(["compare", str(file)]) == 0
    text = capsys.readouterr().out
    assert "The calculation does not support the repair" in text
    heads = ("Stripping", "kN", "Edge", "Drill", "Main reason")
    for words in (*heads, "screw in", "8.271 to 8.536 mm", "with a bottoming tap"):
        assert words in text
    assert main(["compare", str(file), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["conclusion"]["id"] == "does_not_support"
    own = next(a for a in document["alternatives"] if a["option"] == "wire-insert-1.5D")
    assert (own["assessment"], own["verdict"]) == ("not_acceptable", "dropped")
    assert main(["evaluate", str(file), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["alternatives"] == document["alternatives"]


@pytest.mark.parametrize("command", ["compare", "evaluate"])
@pytest.mark.parametrize("units", ["SI", "inch", "both"])
def test_what_is_printed_of_a_case_fits_a_terminal(command, units, tmp_path, capsys):
    """A hundred columns, with every row and word of the table that the report has."""
    file = write(tmp_path, engagement="12 mm", design_load="30 kN", report_units=units)
    assert main([command, str(file)]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 100
    found = study(load(file))
    compared = command == "compare"
    table = alternatives_table(found, drill=True) if compared else criteria_table(found)
    rows = [cell for row in (table.header, *table.rows) for cell in map(str, row)]
    assert Counter(" ".join(rows).replace(":", "").split()) <= Counter(
        text.replace(":", "").split()
    )


@pytest.mark.parametrize("what", ["threads", "parents", "screws", "inserts", "sources"])
def test_lists_have_the_name_to_type_first(capsys, what):
    assert main(["list", what]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) > 5
    first = {line.split("  ")[0] for line in lines}
    expected = {
        "threads": {"M8x1.25", "1/4-20 UNC", "3/8 BSF"},
        "parents": {"6061-T6", "AZ91D"},
        "screws": {"8.8", "A2-70"},
        "inserts": {"1.5 D", "S30200", "cadmium"},
        "sources": {"iso-965-1"},
    }[what]
    assert expected <= first


def test_names_of_parents_can_be_typed(capsys):
    """Every listed parent makes a joint, or is refused in a sentence."""
    from thread_repair import case
    from thread_repair.errors import ThreadRepairError

    main(["list", "parents"])
    for line in capsys.readouterr().out.splitlines():
        name = line.split("  ")[0]
        try:
            case.joint(case.read({**NEEDED, "parent": name}))
        except ThreadRepairError as error:
            assert name in str(error)


def test_new_writes_a_case_that_runs(tmp_path, capsys):
    assert main(["new", str(tmp_path / "mine")]) == 0
    assert main(["evaluate", str(tmp_path / "mine")]) == 0
    capsys.readouterr()
    assert main(["new", str(tmp_path / "mine")]) == 2
    assert "exists already" in capsys.readouterr().err


def test_runs_as_a_module(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "thread_repair", "evaluate", str(tmp_path / "none.yaml")],
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_json_can_be_read_whatever_the_terminal_can_show(tmp_path, encoding):
    """A point of N·m was written as \\xb7, which is no JSON."""
    file = write(tmp_path / "case", title="3 N·m, 2 ≥ 1 µm", thread="M8")
    done = subprocess.run(
        [sys.executable, "-m", "thread_repair", "evaluate", str(file), "--json"],
        capture_output=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": encoding},
    )
    assert json.loads(done.stdout)["case"]["title"] == "3 N·m, 2 ≥ 1 µm"
    assert ("·".encode() in done.stdout) == (encoding == "utf-8")


def test_a_space_that_does_not_break_is_no_part_of_a_key(tmp_path):
    """It was said that 'hole_kind' is unknown, and whether 'hole_kind' was meant."""
    file = write(tmp_path / "case", **{"\u00a0hole_kind\u00a0": "through"})
    assert load(file).hole_kind == "through"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device of Linux")
@pytest.mark.parametrize(
    ("shell", "code", "lines"),
    [
        ("list threads >/dev/full", 1, 1),
        ("--help >/dev/full", 1, 1),
        ("list threads | true", 1, 0),
        ("ask M8 nonsense 2>/dev/full", 1, 0),
        ("report {case}/none.yaml <&- >&- 2>&-", 2, 0),
        ("evaluate {case} <&- >&-", 0, 0),
    ],
)
def test_an_output_that_cannot_be_written_gets_one_line_at_most(tmp_path, shell, code, lines):
    """A full disk, a pipe whose reader has left, a stream that was closed."""
    file = write(tmp_path / "case")
    text = f"set -o pipefail; '{sys.executable}' -m thread_repair " + shell.format(case=file)
    done = subprocess.run(["bash", "-c", text], capture_output=True, text=True, cwd=ROOT)
    assert (done.returncode, done.stderr.count("\n")) == (code, lines), done.stderr


def test_importing_is_no_dearer_than_numpy():
    """What `import thread_repair` loads: nothing that costs time."""
    code = (
        "import sys, thread_repair;"
        "heavy = {'scipy', 'matplotlib', 'pandas', 'papermill', 'IPython', 'pint', 'yaml'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT)
    assert done.stdout.strip() == "[]"
