"""How long the commands take, each as a ratio to a yardstick in the same run.

`python tests/benchmarks/bench_commands.py`. Yardsticks: starting Python with numpy for
`evaluate`; bare papermill on an empty notebook for `report`.
"""

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import nbformat

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "reports" / "demo-rig-plate" / "case.yaml"
RUNS = 5


def seconds(command):
    """Median wall time of a few runs after one that is not counted."""
    times = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True, cwd=ROOT)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copy(DEMO, folder / "case.yaml")
        empty = nbformat.v4.new_notebook()
        empty.cells = [nbformat.v4.new_code_cell("", metadata={"tags": ["parameters"]})]
        empty.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
        nbformat.write(empty, folder / "empty.ipynb")
        python, case = sys.executable, str(folder / "case.yaml")
        tool = [python, "-m", "thread_repair"]
        papermill = [python, "-m", "papermill", str(folder / "empty.ipynb")]
        rows = [
            ("import numpy", "evaluate", [python, "-c", "import numpy"], [*tool, "evaluate", case]),
            (
                "papermill, empty notebook",
                "report --to pdf",
                [*papermill, str(folder / "out.ipynb")],
                [*tool, "report", case, "--to", "pdf", "--again"],
            ),
            (
                "papermill, empty notebook",
                "report, all formats",
                [*papermill, str(folder / "out.ipynb")],
                [*tool, "report", case, "--again"],
            ),
            ("import numpy", "import thread_repair", [python, "-c", "import numpy"],
             [python, "-c", "import thread_repair"]),
        ]  # fmt: skip
        print(f"{'command':24}{'s':>8}   {'yardstick':28}{'s':>8}{'ratio':>8}")
        for yardstick, command, first, second in rows:
            base, own = seconds(first), seconds(second)
            print(f"{command:24}{own:8.2f}   {yardstick:28}{base:8.2f}{own / base:8.2f}")


if __name__ == "__main__":
    main()
