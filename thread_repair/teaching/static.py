"""The live notebook as one HTML file for a reader without Python: no script, no network.

The words are those of the notebook. Where the controls stand there, a few positions can be chosen
here, each with all its pictures; the browser does that with radio buttons and a style sheet.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from nbformat import NotebookNode

from ..errors import InputError, ReportError
from ..files import data, new_file, own_text
from ..report.escape import html
from . import pictures, widgets
from .explorer import Controls

NOTEBOOK = "why_inserts"
#: Tag of a cell of words that speak of the controls, which a page without scripts has not.
LIVE = "live"

#: The positions shown, with what to look at.
POSITIONS = tuple(
    (each["name"], each["remark"], Controls(**each.get("controls", {})))
    for each in data("teaching_positions.toml")["position"]
)


def page(notebook: NotebookNode) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    notebook : the live notebook

    Raises
    ------
    ReportError
        If a cell shows what a page without Python cannot.
    """
    shown = [*_shown(notebook)]
    panels = sum(isinstance(each, widgets.Panel) for each in shown)
    if panels != 1:
        raise ReportError(f"the notebook shows {panels} sets of controls; expected one")
    body = _html("\n\n".join(map(_markdown, shown)))
    # The colours of the pictures, dark where the reader's system is.
    dark = widgets.STYLE.split("}\n")[1].partition("{")[2]
    theme = f"@media (prefers-color-scheme: dark) {{ .tr-picture {{ {dark} }} }}\n"
    # The rules that show the chosen position and mark its label.
    rule = own_text("teaching_choice.css")
    choice = "".join(rule.replace("NUMBER", str(i)) for i in range(len(POSITIONS)))
    style = f"{widgets.STYLE}{theme}{own_text('teaching_page.css')}{choice}"
    title = html(_markdown(shown[0]).splitlines()[0].lstrip("# "))
    return own_text("teaching_page.html").format(title=title, style=style, body=body)


def write(path: Path) -> Path:
    """Write the page; nothing is overwritten and nothing stands there half-written.

    Raises
    ------
    InputError
        If the name is none of a page, or the file exists or cannot be written.
    """
    if path.suffix.casefold() not in (".html", ".htm"):
        raise InputError(f"{path}: expected a name that ends with .html")
    from ..report.jobs import notebook_path
    from ..report.run import read_notebook

    return new_file(path, lambda: page(read_notebook(notebook_path(NOTEBOOK))))


def _shown(notebook: NotebookNode) -> Iterator[str | widgets.Panel | widgets.Still]:
    """Yield what the notebook shows, cell by cell: words, or the controls.

    Words on how to use the controls are left out. The cells hold calls only, so that they can be
    run here, without a kernel.
    """
    names: dict[str, Any] = {}
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            if LIVE not in cell.metadata.get("tags", ()):
                yield cell.source
            continue
        tree = ast.parse(cell.source)
        last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
        exec(compile(tree, NOTEBOOK, "exec"), names)
        if last is None:
            continue
        value = eval(compile(ast.Expression(last.value), NOTEBOOK, "eval"), names)
        if isinstance(value, widgets.Panel | widgets.Still):
            yield value
        elif isinstance(getattr(value, "data", None), str):
            yield re.sub(r"\s*\{#[^}]*\}", "", value.data)
        else:
            raise ReportError(f"a page cannot show what this cell shows: {cell.source}")


def _markdown(shown: str | widgets.Panel | widgets.Still) -> str:
    """Return words as they are, and pictures as HTML among them."""
    if isinstance(shown, str):
        return shown
    drawn = f"<figure>{shown.svg}</figure>" if isinstance(shown, widgets.Still) else _stills()
    return f"```{{=html}}\n{drawn}\n```"


def _html(markdown: str) -> str:
    import pypandoc

    from ..report.render import READER

    options = ["--mathml", "--wrap=none", "--fail-if-warnings"]
    try:
        made: str = pypandoc.convert_text(
            markdown, "html5", format=f"{READER}+raw_attribute", extra_args=options
        )
    except RuntimeError as error:
        raise ReportError(f"the page could not be made: {error}") from None
    return made


def _stills() -> str:
    """Return the choice of positions and, for each, what stands there and its pictures."""
    inputs, labels, stills = "", "", ""
    for i, (name, remark, position) in enumerate(POSITIONS):
        checked = "" if i else " checked"
        inputs += f'<input class="choose" type="radio" name="position" id="p{i}"{checked}>'
        labels += f'<label for="p{i}">{html(name)}</label>'
        drawn = "".join(
            f"<figure>{pictures.image(each, position)}"
            f"<figcaption>{html(pictures.words(each, position))}</figcaption></figure>"
            for each in pictures.PICTURES
        )
        stills += (
            f'<section class="still" id="s{i}"><h3>{html(name)}</h3><p>{html(remark)}</p>'
            f"<p>{html(widgets.spoken(position))}</p>{drawn}</section>"
        )
    return (
        '<div class="stills"><p><strong>Choose a position</strong> by tapping or clicking it, '
        "or with the arrow keys. Each shows one joint; the notebook itself has all the others."
        f'</p>{inputs}<div class="choices">{labels}</div>{stills}</div>'
    )
