"""How fast is everything, each beside a yardstick measured in the same run.

    python tests/benchmarks/run_all.py [--quick]

Prints one table: seconds, the yardstick and its seconds, the ratio, and what was aimed at. Nothing
passes or fails: on a busy machine all times grow, the ratios less so. `--quick` leaves out the
batches.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

# One core each, or the ratios would compare different machines.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import nbformat
import numpy as np
from nbformat.v4 import new_code_cell, new_notebook

import thread_repair as tr
from thread_repair import catalogue_sweep, threads
from thread_repair.report import results
from thread_repair.strength.collapse.bounds import cell_bounds
from thread_repair.teaching import explorer, pictures

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "reports" / "demo-rig-plate" / "case.yaml"
BATCH = 20
PICTURE = next(iter(pictures.PICTURES))
#: M8 in its basic sizes, mm.
CELL = {
    "screw_major": 8.0,
    "hole_minor": 6.647,
    "hole_pitch_diameter": 7.188,
    "hole_major": 8.0,
    "pitch": 1.25,
}


def best(run: Callable[[], object], repeats: int = 5) -> float:
    """Shortest of several runs, in seconds of the clock."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def row(name: str, seconds: float, yardstick: str, base: float, aim: str = "") -> None:
    print(f"{name:44}{seconds:9.3f}  {yardstick:38}{base:9.3f}{seconds / base:8.2f}  {aim}")


def command(*arguments: str) -> Callable[[], object]:
    return lambda: subprocess.run(
        [sys.executable, *arguments], check=True, cwd=ROOT, capture_output=True
    )


def computing() -> None:
    case = tr.load(DEMO)
    million = np.random.default_rng(1).random(1_000_000)
    exponential = best(lambda: np.exp(million))
    tr.evaluate(case)
    row("evaluate a case", best(lambda: tr.evaluate(case)), "exp of a million", exponential)
    row(
        "all numbers of results.json",
        best(lambda: results.results(case, with_chances=False)),
        "exp of a million",
        exponential,
    )
    lengths = np.linspace(4, 24, 50_000)
    row(
        "sweep, 100 000 joints",
        best(lambda: tr.sweep(case, engagement=lengths)),
        "exp of a million",
        exponential,
    )
    m8 = threads.thread("M8")
    table = next(iter(catalogue_sweep.sweep_threads([m8])))
    count = 2 * len(table["thread"])
    row(
        f"catalogue of one thread, {count} joints",
        best(lambda: next(iter(catalogue_sweep.sweep_threads([m8])))),
        "exp of a million",
        exponential,
    )
    normal = best(lambda: np.random.default_rng(1).standard_normal((16384, 16)))
    row(
        "chances of a case, 16384 joints",
        best(lambda: tr.study(case).chances.simulation, 2),
        "as many joints x 16 normal values",
        normal,
    )
    from scipy.sparse.linalg import splu

    matrix = _laplacian(150)
    row(
        "bounds of one thread pitch, certified",
        best(lambda: cell_bounds(**CELL), 2),
        "sparse LU, 22 500 unknowns",
        best(lambda: splu(matrix), 3),
    )


def _laplacian(size: int) -> object:
    from scipy.sparse import diags, eye, kron

    line = diags([-1.0, 2.0, -1.0], [-1, 0, 1], shape=(size, size))
    return (kron(line, eye(size)) + kron(eye(size), line)).tocsc()


def drawing() -> None:
    from matplotlib.figure import Figure

    def empty() -> None:
        import io

        figure = Figure(figsize=(6, 4))
        figure.subplots().plot([0, 1], [0, 1])
        figure.savefig(io.BytesIO(), format="png", dpi=100)

    controls = explorer.start(tr.load(DEMO))
    pictures.image(PICTURE, controls)
    row(
        "slider: the first picture, drawn",
        best(lambda: pictures.drawn.__wrapped__(PICTURE, controls)),
        "plain figure of one line, PNG",
        best(empty),
        "a press shown in 0.2 s",
    )


def reports(folder: Path, *, quick: bool) -> None:
    empty = new_notebook(
        cells=[new_code_cell("", metadata={"tags": ["parameters"]})],
        metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}},
    )
    nbformat.write(empty, folder / "empty.ipynb")
    (folder / "case").mkdir()
    case = str(shutil.copy(DEMO, folder / "case"))
    numpy = best(command("-c", "import numpy"))
    row("import thread_repair", best(command("-c", "import thread_repair")), "import numpy", numpy)
    row(
        "thread-repair evaluate",
        best(command("-m", "thread_repair", "evaluate", case), 3),
        "import numpy",
        numpy,
    )
    bare = best(
        command("-m", "papermill", str(folder / "empty.ipynb"), str(folder / "out.ipynb")), 3
    )
    lean = best(
        command(
            "-c",
            # JupyterLab brings grammars of web addresses that every import of nbformat builds.
            "import sys; sys.modules['rfc3987_syntax'] = None\n"
            "import papermill\npapermill.execute_notebook(*sys.argv[1:], progress_bar=False)",
            str(folder / "empty.ipynb"),
            str(folder / "out.ipynb"),
        ),
        3,
    )
    report = ["-m", "thread_repair", "report", case, "--again"]
    name = "bare papermill, empty notebook"
    row("report to PDF", best(command(*report, "--to", "pdf"), 3), name, bare, "2.5")
    row(
        "report to PDF",
        best(command(*report, "--to", "pdf"), 3),
        "the same without JupyterLab",
        lean,
    )
    row("report, PDF HTML DOCX", best(command(*report), 3), name, bare)
    row("report, unchanged", best(command(*report[:-1]), 3), name, bare)
    if quick:
        return
    table = folder / "t.csv"
    keys = "thread,screw,parent,engagement,insert_length,design_load"
    rows = [f"c{n},M8,8.8,6061-T6,{8 + n / 10:g} mm,1.5 D,5 kN" for n in range(BATCH)]
    table.write_text("\n".join([f"name,{keys}", *rows]) + "\n")
    batch = ["-m", "thread_repair", "report", str(table), "--to", "pdf"]
    took = {
        jobs: best(command(*batch, "--jobs", jobs, "--out", str(folder / jobs)), 1)
        for jobs in ("1", "2")
    }
    row(f"batch of {BATCH}, two at a time", took["2"], "the same one by one", took["1"], "0.6")


def main() -> None:
    print(f"{'':44}{'seconds':>9}  {'yardstick':38}{'seconds':>9}{'ratio':>8}  aim")
    computing()
    drawing()
    with tempfile.TemporaryDirectory() as name:
        reports(Path(name), quick="--quick" in sys.argv)


if __name__ == "__main__":
    main()
