"""Turn an executed notebook into one Markdown document and its figure files."""

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from ..errors import ReportError
from . import escape
from .figure import METADATA

#: Cells with one of these tags contribute nothing to the documents.
SILENT_TAGS = frozenset({"parameters", "injected-parameters", "no-report"})

#: Folder of the figure files, beside the Markdown document.
FIGURES = "figures"

_HEADING = re.compile(r"^ {0,3}#{1,6}[ \t]+(.+?)[ \t#]*$", re.MULTILINE)
ACTIVE_SVG = re.compile(
    r"<\s*(script|foreignObject|iframe)\b|\son\w+\s*=|href\s*=\s*[\"'](?!#|data:image/png)", re.I
)


def flatten(notebook: Mapping[str, Any], folder: Path) -> str:
    """Return the Markdown of the documents, and write the figures it names into `folder`.

    Markdown cells are taken as they are. Of code cells only the outputs are taken: Markdown
    first, then a figure (SVG), else plain text.

    Raises
    ------
    ReportError
        If a figure has no alternative text, or a cell holds what no document can print.
    """
    (folder / FIGURES).mkdir(exist_ok=True)
    parts: list[str] = []
    figures = 0
    for index, cell in enumerate(notebook["cells"]):
        if SILENT_TAGS & set(cell.get("metadata", {}).get("tags", ())):
            continue
        if cell["cell_type"] == "markdown":
            if cell.get("attachments"):
                raise ReportError.of("pasted_picture", where=place(notebook, index))
            parts.append(_text(cell["source"]))
        elif cell["cell_type"] == "code":
            for output in cell.get("outputs", ()):
                if is_figure(output):
                    figures += 1
                    parts.append(_figure(output, folder, figures, place(notebook, index)))
                else:
                    parts.extend(_words(output))
    return "\n\n".join(part for part in parts if part.strip()) + "\n"


def place(notebook: Mapping[str, Any], index: int) -> str:
    """Name a cell for a person: its number in the notebook's file and the heading above it."""
    heading, number = "", 0
    for cell in notebook["cells"][: index + 1]:
        # papermill's own cell is not in the file
        number += "injected-parameters" not in cell.get("metadata", {}).get("tags", ())
        if cell["cell_type"] == "markdown":
            found = _HEADING.findall(_text(cell["source"]))
            heading = found[-1] if found else heading
    kind = {"code": "code cell", "markdown": "text cell"}.get(
        notebook["cells"][index]["cell_type"], "cell"
    )
    return f"{kind} {number}" + (f" under '{heading}'" if heading else "")


def is_figure(output: Mapping[str, Any]) -> bool:
    """Whether an output is a picture and not text."""
    data = output.get("data", {})
    return "text/markdown" not in data and any(mime.startswith("image/") for mime in data)


def _words(output: Mapping[str, Any]) -> Iterator[str]:
    if output["output_type"] == "stream":
        if output["name"] == "stdout":
            yield escape.verbatim(_text(output["text"]))
        return
    data = output.get("data", {})
    if "text/markdown" in data:
        yield _text(data["text/markdown"])
    elif "application/vnd.jupyter.widget-view+json" in data:
        return  # a control has no meaning on paper
    elif "text/latex" in data:
        yield _text(data["text/latex"])
    elif "text/plain" in data:
        yield escape.verbatim(_text(data["text/plain"]))


def _figure(output: Mapping[str, Any], folder: Path, number: int, where: str) -> str:
    data, meta = output["data"], output.get("metadata", {}).get(METADATA)
    if not meta or "image/svg+xml" not in data:
        raise ReportError.of("picture_without_words", where=where)
    svg = _text(data["image/svg+xml"])
    if ACTIVE_SVG.search(svg):
        raise ReportError(f"{where} shows an SVG picture that runs or loads something")
    name = f"{FIGURES}/figure-{number}.svg"
    (folder / name).write_text(svg, encoding="utf-8")
    label = f"#fig:{meta['label']} " if meta["label"] else ""
    alt = escape.markdown(meta["alt"])
    width = f"{float(meta['width_mm']):g}mm"
    lead = f"{meta['lead']}\n\n" if meta.get("lead") else ""
    return f'{lead}![{meta["caption"]}]({name}){{{label}alt="{alt}" width="{width}"}}'


def _text(value: str | list[str]) -> str:
    """Join what nbformat keeps either as one string or as a list of lines."""
    return value if isinstance(value, str) else "".join(value)
