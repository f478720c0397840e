"""The calls of a notebook, run in this process: what each shows, as a kernel would be given it."""

import ast
import re
from pathlib import Path

import nbformat
from matplotlib.text import Text

from thread_repair import case as cases

ROOT = Path(__file__).parents[1]
#: How a notebook begins, once its parameters are set.
STUDY = re.compile(r"tr\.study\((tr\.from_namespace\(globals\(\)\)|case)\)|Verification\(.*\)")


def demo(name="demo-rig-plate", **changes):
    folder = ROOT / "reports" / name
    return cases.read({**cases.load_text(folder), "samples": 1024, **changes}, folder=folder)


def shown(notebook, study, *, without="\n", only=None, **given):
    """Run the calls of a notebook on a study: each call with what it shows.

    Cells that begin `without` are left out, or all but `only`. A call that another notebook made on
    the same study shows the same: it is not made again. `given` are parameters by name.
    """
    names, kept = {"study_of_case": study, **given}, vars(study).setdefault("shown", {})
    for cell in nbformat.read(ROOT / "notebooks" / f"{notebook}.ipynb", as_version=4).cells:
        if cell.cell_type != "code" or "parameters" in cell.metadata.get("tags", []):
            continue
        if cell.source.startswith(without):
            continue
        tree = ast.parse(STUDY.sub("study_of_case", cell.source))
        last = tree.body.pop() if isinstance(tree.body[-1], ast.Expr) else None
        exec(compile(tree, notebook, "exec"), names)
        if last is not None and (only is None or cell.source in only):
            call = ast.unparse(last)
            if call not in kept:
                kept[call] = eval(compile(ast.Expression(last.value), notebook, "eval"), names)
            yield call, kept[call]


def words(output):
    """Everything that is to be read of an output: cells, captions, words for a figure and in it."""
    found = [getattr(output, name, "") for name in ("data", "caption", "alt")]
    if hasattr(output, "rows"):
        headers = [str(each) for each in output.header]
        found += headers
        found += [
            str(getattr(cell, "text", cell))
            for row in output.rows
            for header, cell in zip(headers, row, strict=True)
            if header != "Entered" and "Source" not in header
        ]
    if hasattr(output, "figure"):
        found += [each.get_text() for each in output.figure.findobj(Text)]
    return [text.replace("\\", "") for text in found if text]
