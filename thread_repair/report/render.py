"""Turn one Markdown document into PDF, HTML and DOCX, side by side, and check what came of it."""

from __future__ import annotations

import datetime
import json
import os
import re
import shutil
import subprocess
import zipfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache, partial
from html.parser import HTMLParser
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from ..errors import InputError, MissingPackageError, ReportError, check_known
from . import docx, flatten
from .document import NO_DATE, DocumentInfo

if TYPE_CHECKING:
    import typst

#: Formats and the names of their files.
FORMATS = {"pdf": "report.pdf", "html": "report.html", "docx": "report.docx"}

#: Longest wait for pandoc, in seconds, for a document of an ordinary length, in bytes: it takes a
#: tenth of a second.
PANDOC_TIMEOUT, _ORDINARY = 60, 50_000

_TEMPLATES = Path(__file__).parent / "templates"

# Markdown as Jupyter shows it, plus captions, labels and cross references. No raw HTML, TeX or
# Typst, no metadata and no macros: text in a cell can only ever be text.
READER = (
    "markdown"
    "-raw_html-raw_tex-raw_attribute-native_divs-native_spans-markdown_in_html_blocks"
    "-latex_macros-yaml_metadata_block-pandoc_title_block-example_lists-line_blocks"
    "-simple_tables-multiline_tables-fancy_lists-definition_lists"
    "-blank_before_header-blank_before_blockquote+lists_without_preceding_blankline"
)

# Only these fonts, so that a page is the same on every machine. Beside them Typst brings its own.
_FALLBACK_FONTS = "Sans Sans-Bold Sans-Oblique Sans-BoldOblique SansMono SansMono-Bold"


def render(
    markdown: str, info: DocumentInfo, folder: Path, formats: Sequence[str] = tuple(FORMATS)
) -> dict[str, Path]:
    """Write the documents into `folder`, which holds the figures that the Markdown names.

    Raises
    ------
    ReportError
        If a document cannot be made: a reference that points to nothing, a picture without
        alternative text, a character that no font has.
    UnknownNameError
        If a format is not known.
    """
    check_formats(formats)
    (folder / "report.md").write_bytes(markdown.encode("utf-8", "backslashreplace"))
    (folder / "info.json").write_text(json.dumps(info.as_data()), encoding="utf-8")
    _write_logo(info, folder)
    writers = {"pdf": _pdf, "html": _html, "docx": _docx}
    with ThreadPoolExecutor(max_workers=len(FORMATS)) as pool:
        jobs = [pool.submit(writers[name], info, folder) for name in dict.fromkeys(formats)]
        for job in jobs:
            job.result()
    return {name: folder / FORMATS[name] for name in formats}


def _write_logo(info: DocumentInfo, folder: Path) -> None:
    """Write the company's logo; a drawing also as a picture of dots, which DOCX asks for."""
    owner = info.company
    if owner.logo:
        (folder / f"logo.{owner.logo_kind}").write_bytes(owner.logo)
    if owner.logo_kind == "svg":
        _as_dots(folder / "logo.svg", _all_fonts(), 300, height="60pt")


def _as_dots(drawing: Path, fonts: typst.Fonts, dots: int, height: str = "auto") -> None:
    """Draw an SVG picture as a PNG of so many dots per inch beside it, which DOCX asks for."""
    import typst

    source, folder = drawing.with_suffix(".typ"), drawing.parent
    page = "#set page(width: auto, height: auto, margin: 0pt)"
    source.write_text(f'{page}\n#image("{drawing.name}", height: {height})')
    try:
        picture = typst.compile(source, root=folder, font_paths=fonts, format="png", ppi=dots)
    except typst.TypstError as error:
        raise InputError(f"{drawing.name} cannot be drawn: {error.message}") from None
    drawing.with_suffix(".png").write_bytes(picture)


def check_formats(formats: Sequence[str]) -> None:
    """Refuse a format that is not known, and none at all."""
    if not formats:
        raise InputError(f"no format is asked for; expected one or more of {', '.join(FORMATS)}")
    for name in formats:
        check_known("format", name, FORMATS)


@cache
def pandoc() -> Path:
    """Return the pandoc that pip brought: one on the PATH may write other documents."""
    file = _folder_of("pypandoc") / "files" / ("pandoc.exe" if os.name == "nt" else "pandoc")
    if file.is_file():
        return file
    raise ReportError("pandoc is missing; pip install --force-reinstall pypandoc_binary brings it")


def _folder_of(package: str) -> Path:
    """Return where a package stands, without importing it."""
    found = find_spec(package)
    if found is None or found.origin is None:
        raise MissingPackageError(package)
    return Path(found.origin).parent


def _pandoc(folder: Path, to: str, output: str, *options: str) -> None:
    command = [str(pandoc()), "+RTS", "-M1g", "-RTS", "report.md", "--standalone", *options]
    command += [f"--to={to}", f"--output={output}"]
    command += [f"--from={READER}", f"--lua-filter={_TEMPLATES / 'report.lua'}"]
    command += ["--columns=10000", "--wrap=none"]
    # The first is taken for dates inside the DOCX.
    fixed = {"SOURCE_DATE_EPOCH": f"{_midnight(NO_DATE).timestamp():.0f}", "TZ": "UTC"}
    patience = PANDOC_TIMEOUT * max(1.0, (folder / "report.md").stat().st_size / _ORDINARY)
    try:
        done = subprocess.run(
            command,
            cwd=folder,
            env={**os.environ, **fixed, "LC_ALL": "C.UTF-8"},
            capture_output=True,
            check=False,
            stdin=subprocess.DEVNULL,
            timeout=patience,
        )
    except subprocess.TimeoutExpired:
        raise ReportError(f"pandoc took longer than {patience:.0f} s for one document") from None
    said = done.stderr.decode("utf-8", "replace").strip()
    if done.returncode != 0 or said:
        raise ReportError(_reason(said) or f"pandoc ended with code {done.returncode}")


def _reason(said: str) -> str:
    """Return our own filter's sentence, or the first line of what pandoc said."""
    ours = re.search(r"^report: (.+?)$", said, re.MULTILINE)
    if ours:
        return ours[1]
    formula = re.search(r"Could not convert TeX math (.+?), rendering as TeX", said, re.DOTALL)
    if formula:
        return f"the formula {' '.join(formula[1].split())} cannot be read"
    lines = [line for line in said.splitlines() if line.strip()]
    return f"pandoc could not write the document: {' '.join(lines[:2])}" if lines else ""


def _html(info: DocumentInfo, folder: Path) -> None:
    own = f"--template={_TEMPLATES / 'report.html'}", "--number-sections"
    _pandoc(folder, "html5", FORMATS["html"], "--mathml", "--embed-resources", *own)


def _docx(info: DocumentInfo, folder: Path) -> None:
    import typst

    docx.write_reference(info, folder / "reference.docx")
    no_fonts = typst.Fonts(include_system_fonts=False)  # letters are outlines in our drawings
    for drawing in (folder / flatten.FIGURES).glob("*.svg"):
        _as_dots(drawing, no_fonts, 200)  # 160 mm make 1260 dots: sharp in print
    own = "--reference-doc=reference.docx", "--number-sections"
    _pandoc(folder, "docx", FORMATS["docx"], *own)
    docx.finish(folder / FORMATS["docx"], info)


def _pdf(info: DocumentInfo, folder: Path) -> None:
    import typst

    _pandoc(folder, "typst", "report.typ", f"--template={_TEMPLATES / 'report.typ'}")
    # Chinese or Japanese names, say: whatever this machine has is better than nothing.
    for fonts in (partial(_own_fonts, folder), _all_fonts):
        try:
            content = typst.compile(
                folder / "report.typ",
                root=folder,
                font_paths=fonts(),
                pdf_standards=["ua-1"],
                timestamp=_midnight(info.date or NO_DATE),
                package_path=folder / "none",
                package_cache_path=folder / "none",
            )
        except typst.TypstError as error:
            missing = re.search(r"the text (.+?) could not be displayed", error.message)
            if missing is None:
                raise ReportError(f"the PDF could not be made: {error.message}") from error
            text = missing[1].strip("`'\"")
        else:
            (folder / FORMATS["pdf"]).write_bytes(content)
            return
    raise InputError.of("no_font", text=text)


def _own_fonts(folder: Path) -> typst.Fonts:
    import typst

    # The folder that matplotlib ships also has a font of last resort, which draws a box for every
    # character and so would hide a missing one.
    fonts = folder / "fonts"
    fonts.mkdir()
    ours = _folder_of("matplotlib") / "mpl-data" / "fonts" / "ttf"  # only the notebook imports it
    for name in (f"DejaVu{each}.ttf" for each in _FALLBACK_FONTS.split()):
        shutil.copyfile(ours / name, fonts / name)
    return typst.Fonts(include_system_fonts=False, font_paths=[fonts])


@cache
def _all_fonts() -> typst.Fonts:
    import typst

    return typst.Fonts(include_system_fonts=True)


def _midnight(date: datetime.date) -> datetime.datetime:
    return datetime.datetime.combine(date, datetime.time(), datetime.UTC)


_PAGE_COUNT = re.compile(rb"/Type\s*/Pages\b[^>]*?/Count\s+(\d+)")


def check(kind: str, file: Path) -> None:
    """Refuse a document that a reader could not open, or that would fetch or run something.

    Parameters
    ----------
    kind : {"pdf", "html", "docx"}
        What the file should be.

    Raises
    ------
    ReportError
        Naming the file and what is wrong.
    """
    checks = {"pdf": _fault_of_pdf, "html": _fault_of_html, "docx": _fault_of_docx}
    fault = checks[kind](file)
    if fault:
        raise ReportError(f"{file.name} {fault}; nothing was published")


def _fault_of_pdf(file: Path) -> str:
    content = file.read_bytes()
    if not content.startswith(b"%PDF-") or not content.rstrip().endswith(b"%%EOF"):
        return "is not a complete PDF"
    count = _PAGE_COUNT.search(content)
    return "" if count and int(count[1]) > 0 else "has no pages"


class _Reader(HTMLParser):
    """Notes what a browser would run or fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.fault = ""
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag in ("script", "iframe", "object", "embed", "link", "base", "form"):
            self.fault = self.fault or f"has a <{tag}> element"
        for name, value in attrs:
            text = (value or "").strip().lower()
            if name.startswith("on") or text.startswith(("javascript:", "vbscript:")):
                self.fault = self.fault or f"has a script in the attribute {name}"
            if name in ("src", "srcset", "poster", "background", "data") and not (
                text.startswith("data:image/")
            ):
                self.fault = self.fault or f"would fetch {value!r}"


def _fault_of_html(file: Path) -> str:
    reader = _Reader()
    text = file.read_text(encoding="utf-8")
    reader.feed(text)
    reader.close()
    if not text.rstrip().endswith("</html>") or not {"html", "body", "main"} <= reader.tags:
        return "is not a complete HTML page"
    return reader.fault


def _fault_of_docx(file: Path) -> str:
    try:
        with zipfile.ZipFile(file) as archive:
            if archive.testzip() is not None:
                return "has a damaged part"
            document = ElementTree.fromstring(archive.read("word/document.xml"))
            links = ElementTree.fromstring(archive.read("word/_rels/document.xml.rels"))
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError):
        return "is not a complete DOCX"
    if not any(element.tag.endswith("}t") for element in document.iter()):
        return "has no text"
    for link in links:
        outside = link.get("TargetMode") == "External"
        if outside and not link.get("Type", "").endswith("/hyperlink"):
            return f"would fetch {link.get('Target')!r}"
    return ""
