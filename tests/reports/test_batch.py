"""Which cases a command means, what a batch prints and lists, and that one fault stops no other."""

import csv
import html
import os
import re
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import nbformat
import pandas as pd
import pytest
from whole import is_whole

from thread_repair import case as cases
from thread_repair.cli import main
from thread_repair.errors import InputError
from thread_repair.report import batch, index, kernel, publish, render
from thread_repair.report.jobs import Job, Outcome, build, demo_case, notebook_path
from thread_repair.report.results import results
from thread_repair.report.selection import select

NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "8 mm",
    "insert_length": "1.5 D",
}


def write_case(folder, **changes):
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "case.yaml"
    file.write_text("".join(f"{k}: {v}\n" for k, v in {**NEEDED, **changes}.items()))
    return file


def write_table(file, *rows, columns=(*NEEDED,)):
    with file.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, columns)
        writer.writeheader()
        for row in rows:
            writer.writerow({key: {**NEEDED, **row}.get(key, "") for key in columns})
    return file


def chosen(plain, *paths, **options):
    return select(paths, notebook=plain, formats=("html",), **options)


def test_folders_files_and_tables_are_cases(tmp_path, plain):
    one = write_case(tmp_path / "fleet" / "a")
    write_case(tmp_path / "fleet" / "deep" / "b")
    write_case(tmp_path / "fleet" / ".hidden" / "c")
    table = write_table(tmp_path / "t.csv", {"name": "x"}, {"name": "y"}, columns=("name", *NEEDED))
    jobs = chosen(plain, tmp_path / "fleet", table)
    assert [job.name for job in jobs] == ["a", "deep/b", "x", "y"]
    assert [job.out for job in jobs[:2]] == [one.parent, tmp_path / "fleet" / "deep" / "b"]
    assert [job.out for job in jobs[2:]] == [tmp_path / "t" / "x", tmp_path / "t" / "y"]
    assert jobs[2].row == NEEDED
    jobs = chosen(plain, tmp_path / "fleet", out=tmp_path / "o")
    assert [job.out for job in jobs] == [tmp_path / "o" / "a", tmp_path / "o" / "deep" / "b"]
    (job,) = chosen(plain, tmp_path / "fleet" / "a", out=tmp_path / "o")
    assert job.out == tmp_path / "o" / "a"


def test_a_table_from_a_spreadsheet_is_read(tmp_path, plain):
    file = tmp_path / "t.csv"
    file.write_bytes(
        b"\xef\xbb\xbfthread,screw,parent,engagement,insert_length\r\n"
        b'M8x1.25,8.8,6061-T6,"8 mm",1.5 D\r\n,,,,\r\n'
    )
    (job,) = chosen(plain, file)
    assert job.name == "row-0001"


@pytest.mark.parametrize(
    ("columns", "rows", "says"),
    [
        (("name", "thred"), [{}], "unknown column 'thred'; did you mean 'thread'?"),
        (("thread", "thread"), [{}], "column 'thread' is given more than once"),
        (("name", *NEEDED), [{"name": "../x"}], "row 2: '../x' cannot be the name of a folder"),
        (("name", *NEEDED), [{"name": ""}], "row 2: '' cannot be the name of a folder"),
        (("name", *NEEDED), [{"name": "."}], "cannot be the name of a folder"),
        (("name", *NEEDED), [{"name": "C:x"}], "cannot be the name of a folder"),
        (("name", *NEEDED), [{"name": "a" * 81}], "of at most 80 bytes"),
        (("name", *NEEDED), [{"name": "ü" * 41}], "of at most 80 bytes"),
        (("name", *NEEDED), [{"name": "Con"}], "'Con' cannot be the name of a folder everywhere"),
        (("name", *NEEDED), [{"name": "lpt1.x"}], "cannot be the name of a folder everywhere"),
        (("name", *NEEDED), [{"name": "Index.html"}], "cannot be the name of a folder everywhere"),
        (("name", *NEEDED), [{"name": "ü"}, {"name": "u\u0308"}], "is given to an earlier row"),
        (("name", *NEEDED), [{"name": "a"}, {"name": "A"}], "is given to an earlier row"),
        ((*NEEDED,), [], "expected a header that names keys, and one row a case"),
    ],
)
def test_a_wrong_table_is_refused_whole(tmp_path, plain, columns, rows, says):
    with pytest.raises(InputError) as error:
        chosen(plain, write_table(tmp_path / "t.csv", *rows, columns=columns))
    assert says in str(error.value)


def test_a_stray_quotation_mark_takes_no_row_with_it(tmp_path, plain):
    """Read as CSV allows it, the marks of rows 3 and 6 make one cell of rows 3 to 6."""
    table = write_table(
        tmp_path / "t.csv",
        *({"name": f"n{row}", "title": f"t{row}"} for row in range(2, 13)),
        columns=("name", *NEEDED, "title"),
    )
    for before, after in (("t3", '"t3'), ("t6", 't6"')):
        table.write_bytes(table.read_bytes().replace(before.encode(), after.encode()))
    with pytest.raises(InputError) as error:
        chosen(plain, table)
    assert [fault.split(": ")[1] for fault in error.value.faults] == ["row 3", "row 6"]


def test_a_table_of_another_country_is_read(tmp_path, plain, capsys):
    lines = ["sep=;", ";".join(NEEDED) + ";;", ";".join(NEEDED.values()) + ";;"]
    file = tmp_path / "t.csv"
    file.write_bytes("\r\n".join(lines).encode("utf-16"))
    (job,) = chosen(plain, file)
    assert job.row == NEEDED
    assert "2 empty columns without a name left out" in capsys.readouterr().err
    file.write_text("\n".join(lines) + "x")
    with pytest.raises(InputError, match="row 2: 'x' stands in column 7, which has no name"):
        chosen(plain, file)


def test_more_faults_of_a_selection(tmp_path, plain):
    with pytest.raises(InputError, match=r"no case\.yaml in .* or below it"):
        chosen(plain, tmp_path)
    file = tmp_path / "t.csv"
    file.write_text("thread,screw\nM8\n")
    with pytest.raises(InputError, match="row 2: 1 cells where the header has 2"):
        chosen(plain, file)
    file.write_text('thread,screw\n"M8,x\n')
    with pytest.raises(InputError, match="row 2: a quotation mark does not close"):
        chosen(plain, file)
    file.write_bytes(b"thread\n\xff\xfe\n")
    with pytest.raises(InputError, match="not UTF-8"):
        chosen(plain, file)
    a, b = write_case(tmp_path / "p" / "same"), write_case(tmp_path / "q" / "same")
    with pytest.raises(InputError, match="would both stand in"):
        chosen(plain, a, b, out=tmp_path / "o")
    with pytest.raises(InputError, match="asked for twice"):
        chosen(plain, a, a)


@pytest.mark.usefixtures("at_once")
def test_a_bad_case_stops_no_other(tmp_path, plain, capsys):
    table = write_table(
        tmp_path / "t.csv",
        {"name": "good", "title": "=1+1"},
        {"name": "=bad", "thread": "M8x1.26"},
        {"name": "<b>", "title": "x"},
        columns=("name", "title", *NEEDED),
    )
    # < is no name of a folder everywhere, so it is refused before anything is built
    assert main(["report", str(table), "--notebook", str(plain), "--to", "html"]) == 2
    assert not (tmp_path / "t").exists()
    capsys.readouterr()
    table.write_text(table.read_text().replace("<b>", "b"))
    assert main(["report", str(table), "--notebook", str(plain), "--to", "html"]) == 2
    printed = capsys.readouterr()
    assert "=bad: thread: " in printed.err and "2 of 3, 1 failed, about " in printed.err
    assert is_whole(tmp_path / "t" / "good") and is_whole(tmp_path / "t" / "b")
    assert not (tmp_path / "t" / "=bad").exists()
    rows = list(csv.DictReader((tmp_path / "t" / "index.csv").read_text().splitlines()))
    assert [row["result"] for row in rows] == ["built", "failed", "built"]
    assert rows[1]["name"] == "'=bad" and rows[1]["faults"].startswith("thread: ")
    assert float(rows[0]["pull_out_ratio"]) > 1
    page = (tmp_path / "t" / "index.html").read_text()
    render.check("html", tmp_path / "t" / "index.html")
    assert 'href="good/plain.html"' in page and "supports the repair" in page

    before = {p: p.stat().st_mtime_ns for p in (tmp_path / "t").glob("*/plain.html")}
    assert main(["report", str(table), "--notebook", str(plain), "--to", "html"]) == 2
    assert capsys.readouterr().out.count("finished and unchanged") == 2
    assert before == {p: p.stat().st_mtime_ns for p in (tmp_path / "t").glob("*/plain.html")}
    # A key that the notebook does not show still changes results.json, so it counts.
    table.write_text(table.read_text().replace("8.8,6061-T6,8 mm", "10.9,6061-T6,8 mm", 1))
    assert main(["report", str(table), "--notebook", str(plain), "--to", "html"]) == 2
    assert capsys.readouterr().out.count("finished and unchanged") == 1


@pytest.mark.usefixtures("at_once")
def test_again_and_what_was_changed_by_hand(tmp_path, plain, capsys):
    case = write_case(tmp_path / "a")
    command = ["report", str(case), "--notebook", str(plain), "--to", "html"]
    assert main(command) == 0
    assert not (tmp_path / "a" / "index.html").exists()
    page = tmp_path / "a" / "plain.html"
    first = page.stat().st_mtime_ns
    assert main(command) == 0
    assert page.stat().st_mtime_ns == first
    assert main([*command, "--again"]) == 0
    assert page.stat().st_mtime_ns > first
    page.write_text("annotated")
    assert main(command) == 0
    assert "plain (kept 1).html" in capsys.readouterr().out
    assert (tmp_path / "a" / "plain (kept 1).html").read_text() == "annotated"


@pytest.mark.usefixtures("at_once")
def test_other_notebooks_and_formats_of_a_case_stay(tmp_path, plain, capsys):
    case = write_case(tmp_path / "a")
    other = tmp_path / "sheet.ipynb"
    other.write_bytes(plain.read_bytes())
    command = ["report", str(case), "--to", "html", "--notebook"]
    assert main([*command, str(plain)]) == 0
    assert main([*command, str(other)]) == 0
    folder = tmp_path / "a"
    both = {"plain.html", "plain.ipynb", "sheet.html", "sheet.ipynb", "results.json"}
    assert shown(folder) == {"case.yaml", *both}
    before = (folder / "plain.html").stat().st_ino
    capsys.readouterr()
    assert main([*command, str(plain)]) == 0
    assert "finished and unchanged" in capsys.readouterr().out
    assert before == (folder / "plain.html").stat().st_ino
    write_case(tmp_path / "a", title="another")
    assert main([*command, str(plain)]) == 0
    aside = {"sheet (outdated).html", "sheet (outdated).ipynb"}
    assert shown(folder) == {"case.yaml", "plain.html", "plain.ipynb", "results.json", *aside}
    assert "now " in capsys.readouterr().out
    assert main([*command, str(other)]) == 0
    assert shown(folder) == {"case.yaml", *both}


def shown(folder):
    return {path.name for path in folder.iterdir() if not path.name.startswith(".")}


@pytest.mark.usefixtures("at_once")
def test_a_row_that_went_wrong_leaves_nothing_that_looks_current(tmp_path, plain):
    columns = ("name", *NEEDED)
    table = write_table(tmp_path / "t.csv", {"name": "a"}, {"name": "b"}, columns=columns)
    command = ["report", str(table), "--notebook", str(plain), "--to", "html"]
    assert main(command) == 0
    write_table(table, {"name": "a", "thread": "M8x1.26"}, {"name": "b"}, columns=columns)
    assert main(command) == 2
    aside = {"plain (outdated).html", "plain (outdated).ipynb", "results (outdated).json"}
    assert shown(tmp_path / "t" / "a") == aside
    assert shown(tmp_path / "t" / "b") == {"plain.html", "plain.ipynb", "results.json"}
    assert 'href="a/' not in (tmp_path / "t" / "index.html").read_text()
    write_table(table, {"name": "a"}, {"name": "b"}, columns=columns)
    assert main(command) == 0
    assert shown(tmp_path / "t" / "a") == shown(tmp_path / "t" / "b")


@pytest.mark.usefixtures("at_once")
def test_an_issued_revision_gets_no_second_content(tmp_path, plain, capsys):
    command = [
        "report",
        str(tmp_path / "a" / "case.yaml"),
        "--notebook",
        str(plain),
        "--to",
        "html",
    ]
    issued = {
        "engagement": "12 mm", "design_load": "9 kN", "load_factor_source": "specification 7",
        "status": "final", "date": "2026-11-25", "prepared_by": "A. Example", "item": "plate",
        "document": "D-1", "revision": "B", "changes": "B | 2026-11-25 | first issue",
    }  # fmt: skip
    write_case(tmp_path / "a", **issued)
    assert main(command) == 0
    first = (tmp_path / "a" / "plain.html").read_bytes()
    changed = {**issued, "design_load": "10 kN"}
    write_case(tmp_path / "a", **changed)
    for _ in range(2):  # asked once more, it stays refused
        capsys.readouterr()
        assert main(command) == 2
        assert "revision: 'D-1', revision 'B'" in capsys.readouterr().err
    assert (tmp_path / "a" / "plain (outdated).html").read_bytes() == first
    # nor on the way of a draft, which would take its place
    write_case(tmp_path / "a", **changed | {"status": "draft"})
    assert main(command) == 2
    write_case(tmp_path / "a", **issued)
    assert main(command) == 0
    assert (tmp_path / "a" / "plain.html").read_bytes() == first
    later = {"revision": "C", "date": "2026-11-26", "changes": "C | 2026-11-26 | load raised"}
    write_case(tmp_path / "a", **changed | later)
    assert main(command) == 0


@pytest.mark.usefixtures("at_once")
def test_a_case_beside_another_is_refused(tmp_path, plain, capsys):
    case = write_case(tmp_path / "a")
    command = ["--notebook", str(plain), "--to", "html"]
    assert main(["report", str(case), *command]) == 0
    other = case.with_name("other.yaml")
    other.write_text(case.read_text())
    assert main(["report", str(other), *command]) == 2
    assert "holds the report of case.yaml" in capsys.readouterr().err
    other.write_text("thread: M8x1.26")
    assert main(["report", str(other), *command]) == 2
    assert is_whole(tmp_path / "a") and (tmp_path / "a" / "plain.html").exists()
    assert main(["report", str(other), *command, "--out", str(tmp_path / "o")]) == 2


@pytest.mark.usefixtures("at_once")
def test_a_notebook_beside_the_case_is_not_replaced(tmp_path, plain, capsys):
    case = write_case(tmp_path / "a")
    own = tmp_path / "a" / "mine.ipynb"
    own.write_bytes(plain.read_bytes())
    command = ["report", str(case), "--notebook", str(own), "--to", "html"]
    assert main(command) == 2
    assert "would replace the notebook itself" in capsys.readouterr().err
    assert shown(tmp_path / "a") == {"case.yaml", "mine.ipynb"}
    assert main([*command, "--out", str(tmp_path / "o")]) == 0


def test_what_a_batch_needs_is_imported_for_all_its_processes(tmp_path, monkeypatch):
    """They are forked from what runs before it is known how many reports there are."""
    asked = []
    monkeypatch.setattr(kernel, "begin", lambda *, several: asked.append(several))
    monkeypatch.setattr(batch, "report", lambda *arguments, **named: 0)
    case, table = write_case(tmp_path / "fleet" / "a"), write_table(tmp_path / "t.csv", {})
    one = ([], [case], [case.parent])
    for arguments in (*one, [table], [tmp_path / "fleet"], [case, table]):
        assert main(["report", *map(str, arguments)]) == 0
    assert asked == [False, False, False, True, True, True]


class _Gone(Executor):
    """An executor whose worker is lost with every second report."""

    count = 0

    def submit(self, function, /, *arguments, **named):
        future = Future()
        self.count += 1
        if self.count % 2:
            future.set_exception(ConnectionError("the machine is gone"))
        else:
            future.set_result(function(*arguments, **named))
        return future


def jobs_of(count, tmp_path):
    return [
        Job(case=Path("none.yaml"), name=f"{n}", notebook=Path(), out=tmp_path / f"{n}", formats=())
        for n in range(count)
    ]


def test_any_executor_and_one_that_loses_workers(tmp_path):
    outcomes = list(batch.run_batch(jobs_of(4, tmp_path), executor=_Gone()))
    lost = [o for o in outcomes if not o.bad_input]
    assert len(outcomes) == 4 and len(lost) == 2
    assert "ended from outside or crashed" in lost[0].faults[0]


def test_a_fault_of_ours_is_one_sentence(tmp_path, monkeypatch):
    from thread_repair.report import jobs, subjects

    monkeypatch.setattr(subjects, "study", lambda case: {}["none"])
    monkeypatch.setattr(jobs, "_standing", lambda *a: None)
    case = write_case(tmp_path / "a")
    (outcome,) = batch.run_batch(
        [Job(case=case, name="a", notebook=Path("n"), out=tmp_path / "a", formats=("html",))]
    )
    assert not outcome.bad_input
    assert outcome.faults[0].startswith("a fault of the program, test_batch.py line ")


def test_what_another_command_builds_is_in_work_and_has_not_failed(tmp_path, plain):
    write_case(tmp_path / "fleet" / "a")
    write_case(tmp_path / "fleet" / "b", thread="M8x1.26")
    jobs = chosen(plain, tmp_path / "fleet")
    with publish.workspace(tmp_path / "fleet" / "a"):
        outcomes = [*batch.run_batch(jobs)]
    index.write(outcomes, tmp_path)
    found = pd.read_csv(tmp_path / "index.csv").set_index("name")
    assert found.result.to_dict() == {"a": "in work", "b": "failed"}
    assert "another build" in found.faults["a"]
    assert "0 unchanged, 1 in work, 1 failed" in (tmp_path / "index.html").read_text()


def test_names_of_an_index_are_literal(tmp_path):
    name = "<script>alert(1)</script>\n&\udcff"
    job = Job(case=tmp_path / "x", name=name, notebook=Path(), out=tmp_path / "a b#", formats=())
    outcome = Outcome(
        job=job, files={"html": tmp_path / "a b#" / "report.html"}, faults=("<i>v</i>",)
    )
    index.write([outcome], tmp_path)
    render.check("html", tmp_path / "index.html")
    page = (tmp_path / "index.html").read_text()
    assert "<script" not in page and "&lt;i&gt;v" in page and 'href="a%20b%23/report.html"' in page


def test_an_index_that_is_not_ours_is_refused_before_anything_is_built(tmp_path, plain, capsys):
    table = write_table(tmp_path / "t.csv", {}, {})
    command = ["report", str(table), "--notebook", str(plain), "--to", "html"]
    for name in ("index.html", "index.csv"):
        (tmp_path / "t").mkdir(exist_ok=True)
        (tmp_path / "t" / name).write_text("mine")
        assert main(command) == 2
        assert f"{name} is not an index that thread-repair wrote" in capsys.readouterr().err
        assert [path.read_text() for path in (tmp_path / "t").iterdir()] == ["mine"]
        (tmp_path / "t" / name).unlink()
    index.write([], tmp_path / "t")
    index.write([], tmp_path / "t")
    assert shown(tmp_path / "t") == {"index.html", "index.csv"}


@pytest.mark.usefixtures("at_once")
def test_no_index_stands_outside_the_folder_asked_for(tmp_path, plain, capsys):
    cases = [write_case(tmp_path / name) for name in ("a/x", "b/y")]
    command = ["--notebook", str(plain), "--to", "html"]
    assert main(["report", *map(str, cases), *command]) == 0
    assert "no index" in capsys.readouterr().out
    assert shown(tmp_path) == {"a", "b"} and shown(tmp_path / "a") == {"x"}
    assert main(["report", *map(str, cases), *command, "--out", str(tmp_path / "o")]) == 0
    assert shown(tmp_path / "o") == {"x", "y", "index.html", "index.csv"}
    page = (tmp_path / "o" / "index.html").read_text()
    assert 'href="x/plain.html"' in page and 'href="y/plain.html"' in page


@pytest.mark.parametrize("command", ["report", "evaluate"])
def test_a_pipe_or_a_device_is_refused(tmp_path, capsys, command):
    """It would be waited for, or read without end."""
    os.mkfifo(tmp_path / "case.yaml")
    os.mkfifo(tmp_path / "t.csv")
    for path in (tmp_path, tmp_path / "case.yaml", tmp_path / "t.csv", Path("/dev/zero")):
        assert main([command, str(path)]) == 2
        assert "is not a file" in capsys.readouterr().err
    assert shown(tmp_path) == {"case.yaml", "t.csv"}


def test_a_notebook_of_the_current_folder_runs_only_if_named(tmp_path, plain, monkeypatch):
    (tmp_path / "notebooks").mkdir()
    (tmp_path / "reports").mkdir()
    (tmp_path / "notebooks" / "repair_justification.ipynb").write_bytes(plain.read_bytes())
    (tmp_path / "mine.ipynb").write_bytes(plain.read_bytes())
    monkeypatch.chdir(tmp_path)
    found = notebook_path("repair_justification")
    assert not found.is_relative_to(tmp_path)
    assert not demo_case().is_relative_to(tmp_path)
    assert notebook_path("./mine.ipynb").read_bytes() == plain.read_bytes()
    with pytest.raises(InputError, match=r"no notebook at other\.ipynb"):
        notebook_path("other.ipynb")
    with pytest.raises(InputError, match="unknown notebook 'mine'"):
        notebook_path("mine")


@pytest.mark.slow
@pytest.mark.parametrize("killed", ["os.getppid()", "os.getpid()"], ids=["builds", "kernel"])
def test_a_process_that_dies_takes_no_other_report_with_it(tmp_path, plain, killed):
    """A notebook cell kills the process that builds it, or its own: the other reports stand."""
    node = nbformat.read(plain, as_version=4)
    node.cells.append(
        nbformat.v4.new_code_cell(
            "if title == 'kill':\n"
            "    import os, signal, time\n"
            f"    os.kill({killed}, signal.SIGKILL)\n"
            "    time.sleep(60)"
        )
    )
    killer = tmp_path / "killer.ipynb"
    nbformat.write(node, killer)
    table = write_table(
        tmp_path / "t.csv",
        *({"name": f"{n}", "title": "kill" if n == 1 else "good"} for n in range(3)),
        columns=("name", "title", *NEEDED),
    )
    jobs = chosen(killer, table)
    outcomes = {o.job.name: o for o in batch.run_batch(jobs, workers=2)}
    assert sorted(outcomes) == ["0", "1", "2"]
    assert [name for name, o in outcomes.items() if o.faults] == ["1"]
    assert "ended from outside" in outcomes["1"].faults[0]


@pytest.mark.slow
def test_the_executor_of_a_cluster(tmp_path, plain):
    """A worker process behind the scheduler of a local cluster, on loopback only."""
    distributed = pytest.importorskip(
        "distributed", reason="the optional extra 'cluster' is not installed"
    )
    table = write_table(
        tmp_path / "t.csv",
        *({"name": thread, "thread": thread} for thread in ("M6", "M8x1.26")),
        columns=("name", *NEEDED),
    )
    jobs = chosen(plain, table)
    with (
        distributed.LocalCluster(
            n_workers=1,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            dashboard_address=None,
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        outcomes = {o.job.name: o for o in batch.run_batch(jobs, executor=client.get_executor())}
    assert sorted(outcomes) == ["M6", "M8x1.26"]
    assert outcomes["M8x1.26"].bad_input
    assert is_whole(tmp_path / "t" / "M6")


def test_a_pool_of_processes(tmp_path):
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        outcomes = list(batch.run_batch(jobs_of(3, tmp_path), executor=pool))
    assert [o.bad_input for o in outcomes] == [True] * 3


def test_duration_and_build_are_importable_by_name():
    assert batch.duration(59.6) == "1 min 0 s" and build.__module__.endswith("jobs")
    assert os.path.basename(str(demo_case())) == "case.yaml"


def outcome_of(tmp_path, **changes):
    case = cases.read({**NEEDED, "document": "D-1", "revision": "B", **changes})
    job = Job(case=tmp_path / "x", name="x", notebook=Path(), out=tmp_path / "x", formats=())
    return Outcome(job=job, numbers=results(case, with_chances=False))


def index_row(outcome, folder):
    (row,) = csv.DictReader(index.table_text([outcome], folder).splitlines())
    return row


def test_an_index_says_that_the_pull_tests_of_a_case_contradict_it(tmp_path):
    """The first page said so beside its conclusion, the list of the batch did not."""
    for part, told in (("demo-rig-plate", False), ("pull-tests-demo", True)):
        case = cases.load(demo_case().parents[1] / part)
        job = Job(case=tmp_path, name="x", notebook=Path(), out=tmp_path, formats=())
        outcome = Outcome(job=job, numbers=results(case, with_chances=False))
        for text in (
            index_row(outcome, tmp_path)["conditions"],
            index.page_text([outcome], tmp_path),
        ):
            assert ("agreement with the pull tests" in text) is told


def test_an_index_says_the_conclusion_and_names_the_criteria(tmp_path):
    """8.8 at 800 MPa on 36.6 mm2: 29.3 kN against 1.5 x 30 kN, a margin of -0.35."""
    load = {"design_load": "30 kN", "load_factor": "1.5", "engagement": "12 mm"}
    outcome = outcome_of(tmp_path, **load)
    row = index_row(outcome, tmp_path)
    assert row["conclusion"] == "does not support the repair"
    assert "screw margin" in row["criteria_failed"]
    assert float(row["least_margin"]) == pytest.approx(-0.35, abs=0.005)
    assert row["least_margin_mode"] == "screw in tension"
    assert (row["document"], row["revision"]) == ("D-1", "B")
    page = index.page_text([outcome], tmp_path)
    assert "does not support the repair" in page and "−0.35, screw in tension" in page


@pytest.mark.parametrize("load", ["8 kN", "30 kN"])
def test_the_page_of_an_index_says_what_its_table_says(load, tmp_path):
    """Conditions of a repair that is supported stood below the head "Criteria not met"."""
    outcome = outcome_of(tmp_path, design_load=load, engagement="12 mm")
    row, page = index_row(outcome, tmp_path), index.page_text([outcome], tmp_path)
    heads, cells = (re.findall(f"<{t}[^>]*>(.*?)</{t}>", page) for t in ("th", "td"))
    said = dict(zip(heads[1:], cells, strict=False))  # the first cell of the row is a head too
    for head, column in (
        ("Criteria not met", "criteria_failed"),
        ("Conditions, or not assessed", "conditions"),
    ):
        assert html.unescape(said[head]) == row[column]
    assert row["conditions"] and bool(row["criteria_failed"]) == (load == "30 kN")
    assert ('<td class="passed">' in page, '<td class="failed">' in page) == (
        load == "8 kN", load == "30 kN",
    )  # fmt: skip


def test_both_strengths_stand_in_the_index_in_the_units_of_the_case(tmp_path):
    outcome = outcome_of(tmp_path, report_units="inch")
    row = index_row(outcome, tmp_path)
    states = outcome.numbers["states"]
    for name in ("original", "repaired"):
        load = states[name]["pull_out_N"]
        assert float(row[f"{name}_stripping_N"]) == pytest.approx(load, rel=1e-5)
        assert f"{load / 4.4482216:.0f}"[:2] in index.page_text([outcome], tmp_path)
    assert "lbf" in index.page_text([outcome], tmp_path)
    assert row["criteria_failed"] == ""
