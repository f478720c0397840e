"""The live notebook as one HTML file for a reader without Python: no script, no network.

The words are those of the notebook. Where the controls stand there, a few positions can be chosen
here, each with all its pictures; the browser does that with radio buttons and a style sheet.
"""

from __future__ import annotations

import ast
import html
import os
import re
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import InputError, ReportError
from . import pictures, widgets
from .explorer import Controls

if TYPE_CHECKING:
    from nbformat import NotebookNode

NOTEBOOK = "why_inserts"
#: Tag of a cell of words that speak of the controls, which a page without scripts has not.
LIVE = "live"

#: The positions shown, with what to look at.
POSITIONS: tuple[tuple[str, str, Controls], ...] = (
    (
        "A usual case",
        "Coarse thread, ductile parent, equal lengths: the diameter pays.",
        Controls(),
    ),
    (
        "Short",
        "Three quarters of a pitch is much of a short insert: the length takes back a part of what "
        "the diameter gains.",
        Controls(engagement=1.0, insert_length=1.0),
    ),
    (
        "Small and short",
        "A small thread is coarse for its size: the diameter gains more, and the fitted length "
        "loses more.",
        Controls(thread="M4x0.7", engagement=1.0, insert_length=1.0),
    ),
    (
        "Weak parent, strong screw",
        "In a magnesium casting it takes more than two and a half diameters of insert until the "
        "screw of maximum strength fails first.",
        Controls(parent="AZ91D", screw="12.9", engagement=2.0, insert_length=2.0),
    ),
    (
        "Thin boss",
        "The larger hole leaves the thinner wall, which spreads: the repaired hole loses.",
        Controls(boss=1.75),
    ),
    (
        "Long, with a sliding coil",
        "Far threads carry little while the load is elastic; a coil that slides evens it out.",
        Controls(insert_length=3.0, sliding_coil=True),
    ),
    (
        "Basic sizes",
        "Without tolerances both holes are stronger. No part has these sizes.",
        Controls(tolerance_position="basic"),
    ),
)

_STYLE = """
body { font: 17px/1.5 Georgia, "DejaVu Serif", serif; max-width: 50rem; margin: 0 auto;
  padding: 1rem; color: var(--ink); background: var(--paper); }
h1, h2, h3 { line-height: 1.25; margin: 2rem 0 .6rem; }
math[display="block"] { margin: .8rem 0; overflow-x: auto; overflow-y: hidden; max-width: 100%;
  padding: .2rem 0; }
figure { margin: 1.2rem 0; max-width: 44rem; } figcaption { font-size: .95rem; }
.table, table { max-width: 100%; overflow-x: auto; display: block; }
.choices label { display: inline-block; padding: .3rem .7rem; margin: .2rem .3rem .2rem 0;
  border: 1px solid var(--quiet); cursor: pointer; }
.choose { position: absolute; opacity: 0; }
.still { display: none; }
@media print { .still { display: block; break-before: page; } .choices { display: none; } }
"""


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
    parts: list[str] = []
    drawn: list[str] = []
    panels = 0
    for each in _shown(notebook):
        if isinstance(each, str):
            parts.append(each)
            continue
        parts.append(f"{_MARK}{len(drawn)}.")
        if isinstance(each, widgets.Still):
            drawn.append(f"<figure>{each.svg}</figure>")
        else:
            drawn.append(_stills())
            panels += 1
    if panels != 1:
        raise ReportError(f"the notebook shows {panels} sets of controls; expected one")
    body = _html("\n\n".join(parts))
    for number, piece in enumerate(drawn):
        body = body.replace(f"<p>{_MARK}{number}.</p>", piece)
    title = html.escape(re.sub(r"^#\s*", "", parts[0].splitlines()[0]))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>{_colours()}{_STYLE}{_choice_style()}</style>\n</head>\n"
        f'<body class="tr-picture">\n<main>\n{body}\n</main>\n</body>\n</html>\n'
    )


def write(path: Path) -> Path:
    """Write the page; nothing is overwritten and nothing stands there half-written.

    Raises
    ------
    InputError
        If the file exists or cannot be written.
    """
    from ..report.batch import notebook_path
    from ..report.run import read_notebook

    if path.exists():
        raise InputError(f"{path} exists already; give another path")
    text = page(read_notebook(notebook_path(NOTEBOOK)))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "w", dir=path.parent, prefix=f".{path.name}-", encoding="utf-8"
        ) as file:
            file.write(text)
            file.flush()
            Path(file.name).chmod(0o644)
            os.link(file.name, path)  # fails where a file has come to stand meanwhile
    except FileExistsError:
        raise InputError(f"{path} exists already; give another path") from None
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror}") from None
    return path


#: Stands for the pictures until the words are HTML.
_MARK = "STILLS"


def _shown(notebook: NotebookNode) -> list[str | widgets.Panel | widgets.Still]:
    """Return what the notebook shows, cell by cell: words, or the controls.

    Words on how to use the controls are left out. The cells hold calls only, so that they can be
    run here, without a kernel.
    """
    names: dict[str, Any] = {}
    found: list[str | widgets.Panel | widgets.Still] = []
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            if LIVE not in cell.metadata.get("tags", ()):
                found.append(cell.source)
            continue
        tree = ast.parse(cell.source)
        last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
        exec(compile(tree, NOTEBOOK, "exec"), names)
        if last is None:
            continue
        value = eval(compile(ast.Expression(last.value), NOTEBOOK, "eval"), names)
        if isinstance(value, widgets.Panel | widgets.Still):
            found.append(value)
        elif isinstance(getattr(value, "data", None), str):
            found.append(re.sub(r"\s*\{#[^}]*\}", "", value.data))
        else:
            raise ReportError(f"a page cannot show what this cell shows: {cell.source}")
    return found


def _html(markdown: str) -> str:
    import pypandoc

    from ..report.render import READER

    done = subprocess.run(
        [pypandoc.get_pandoc_path(), f"--from={READER}", "--to=html5", "--mathml", "--wrap=none"],
        input=markdown,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    if done.returncode or done.stderr:
        raise ReportError(f"the page could not be made: {done.stderr.strip()}")
    return done.stdout


def _stills() -> str:
    """Return the choice of positions and, for each, what stands there and its pictures."""
    inputs = "".join(
        f'<input class="choose" type="radio" name="position" id="p{i}"{"" if i else " checked"}>'
        for i in range(len(POSITIONS))
    )
    labels = "".join(
        f'<label for="p{i}">{html.escape(name)}</label>' for i, (name, _, _) in enumerate(POSITIONS)
    )
    stills = "".join(
        f'<section class="still" id="s{i}"><h3>{html.escape(name)}</h3>'
        f"<p>{html.escape(remark)}</p>{_settings(position)}{_pictures(position)}</section>"
        for i, (name, remark, position) in enumerate(POSITIONS)
    )
    return (
        '<div class="stills"><p><strong>Choose a position</strong> by tapping or clicking it, '
        "or with the arrow keys. Each shows one joint; the notebook itself has all the others."
        f'</p>{inputs}<div class="choices">{labels}</div>{stills}</div>'
    )


def _settings(position: Controls) -> str:
    return f"<p>{html.escape(widgets.spoken(position))}</p>"


def _pictures(position: Controls) -> str:
    return "".join(
        f"<figure>{pictures.image(name, position)}"
        f"<figcaption>{html.escape(pictures.words(name, position))}</figcaption></figure>"
        for name in pictures.PICTURES
    )


def _colours() -> str:
    """Return the style of the pictures, dark where the reader's system is."""
    dark = widgets.STYLE.split("}\n")[1].partition("{")[2]
    return f"{widgets.STYLE}@media (prefers-color-scheme: dark) {{ .tr-picture {{ {dark} }} }}\n"


def _choice_style() -> str:
    """Return the rules that show the chosen position and mark its label."""
    rules = []
    for i in range(len(POSITIONS)):
        rules.append(f"#p{i}:checked ~ #s{i} {{ display: block; }}")
        rules.append(
            f'#p{i}:checked ~ .choices label[for="p{i}"] '
            "{ background: var(--ink); color: var(--paper); font-weight: bold; }"
        )
        rules.append(
            f'#p{i}:focus-visible ~ .choices label[for="p{i}"] '
            "{ outline: 3px solid var(--original); }"
        )
    return "\n".join(rules) + "\n"
