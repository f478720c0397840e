"""Time of a report, as a ratio to bare papermill on an empty notebook.

Run: python tests/benchmarks/bench_report.py [repeats]
Every time is of a fresh process, imports and kernel start included; the least of the repeats.
Processor seconds stand beside those of the clock: they tell more on a busy machine.
"""

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_notebook

ROOT = Path(__file__).parents[2]
TOY = ROOT / "tests" / "reports" / "fixtures" / "toy.ipynb"

PAPERMILL = (
    "import sys, papermill\n"
    "papermill.execute_notebook(sys.argv[1], sys.argv[2], progress_bar=False)\n"
)
REPORT = (
    "import sys\nfrom pathlib import Path\n"
    "from thread_repair.report.build import Subject, build_report\n"
    "from thread_repair.report.document import DocumentInfo\n"
    "build_report(Subject(handed={}, document=DocumentInfo(title='T')),"
    " notebook=Path(sys.argv[1]), out_dir=Path(sys.argv[2]), formats=sys.argv[3:])\n"
)


def processor_seconds() -> float:
    usage = resource.getrusage(resource.RUSAGE_CHILDREN)
    return usage.ru_utime + usage.ru_stime


def seconds(repeats: int, script: str, *arguments: str) -> tuple[float, float]:
    best = busy = float("inf")
    for _ in range(repeats):
        start, used = time.perf_counter(), processor_seconds()
        subprocess.run(
            [sys.executable, "-c", script, *arguments],
            check=True,
            cwd=ROOT,
            stderr=subprocess.DEVNULL,
        )
        best = min(best, time.perf_counter() - start)
        busy = min(busy, processor_seconds() - used)
    return best, busy


def main() -> None:
    repeats = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cell = new_code_cell("a = 1", metadata={"tags": ["parameters"]})
        empty = new_notebook(
            cells=[cell],
            metadata={
                "kernelspec": {"name": "python3", "language": "python", "display_name": "Python 3"}
            },
        )
        nbformat.write(empty, folder / "empty.ipynb")
        source, target = str(folder / "empty.ipynb"), str(folder / "out.ipynb")
        bare = seconds(repeats, PAPERMILL, source, target)
        toy_bare = seconds(repeats, PAPERMILL, str(TOY), target)
        rows = {
            "bare papermill, empty notebook": bare,
            "bare papermill, toy notebook": toy_bare,
            "report, empty notebook, PDF": seconds(
                repeats, REPORT, source, str(folder / "1"), "pdf"
            ),
            "report, toy notebook, PDF": seconds(
                repeats, REPORT, str(TOY), str(folder / "2"), "pdf"
            ),
            "report, toy notebook, all": seconds(
                repeats, REPORT, str(TOY), str(folder / "3"), "pdf", "html", "docx"
            ),
        }
    print(f"{'':34}{'clock':>8}{'ratio':>7}{'processor':>11}{'ratio':>7}")
    for label, (clock, busy) in rows.items():
        print(f"{label:34}{clock:8.2f}{clock / bare[0]:7.2f}{busy:11.2f}{busy / bare[1]:7.2f}")


if __name__ == "__main__":
    main()
