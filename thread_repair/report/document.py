"""Title block and owner of a report: number, revision, status, names; a company's logo and dates.

What a company says of itself stands in a file beside its cases or above them.
"""

import datetime
import hashlib
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from .. import files, program
from ..errors import InputError, InputErrors, message, shown, unknown
from . import escape
from .flatten import ACTIVE_SVG

FILE = "thread_repair.toml"
KEYS = ("company", "logo", "date_language", "date_format", "footer")
#: Lengths of a date by name; other words are a pattern of the Unicode standard on dates (UTS 35).
STYLES = ("iso", "short", "medium", "long", "full")

_PNG = b"\x89PNG\r\n\x1a\n"
_LARGEST_LOGO = 2_000_000
_LARGEST_FILE = 20_000
_LONGEST = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Company:
    """What stands on every document of a company; empty words are left out."""

    company: str = ""
    footer: str = ""
    date_language: str = "en"
    date_format: str = "iso"
    logo: bytes = b""
    #: "png" or "svg"; empty without a logo.
    logo_kind: str = ""

    def date(self, date: datetime.date | None) -> str:
        """Return a date as the company writes it.

        Examples
        --------
        >>> Company(date_format="long", date_language="de").date(datetime.date(2026, 11, 25))
        '25. November 2026'
        """
        if date is None:
            return ""
        if self.date_format == "iso":
            return date.isoformat()
        from babel.dates import format_date  # on use: it costs a tenth of a second

        return format_date(date, self.date_format, locale=self.date_language.replace("-", "_"))


#: Nobody in particular.
NONE = Company()


#: A report has contents and room to read; a sheet is taken to the machine: short and close.
LAYOUTS = ("report", "sheet", "letter")

#: Written into the files where the case gives no date: the time of building would make two
#: builds of one case differ. It is the earliest that a DOCX file can hold.
NO_DATE = datetime.date(1980, 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentInfo:
    """The words of the title block, header and footer; empty ones are left out.

    Parameters
    ----------
    title : str
        What the report is about; required.
    document, revision : str
        Number and revision, printed in the header of every page.
    status : {"draft", "final", ""}
        A draft is marked on every page. Without one it is a record that the program writes of
        itself, which nobody issues or signs: there are no lines to sign on.
    date : datetime.date or None
        Date of the document, never the time of building.
    prepared_by, checked_by, approved_by, customer, item, serials : str
        Printed as given.
    inputs : str
        Checksum of the inputs; its first twelve digits stand at the foot of each page.
    checksum_of : str
        What that checksum is of, as it is named there.
    layout : {"report", "sheet", "letter"}
        A sheet has no contents, smaller type and narrower margins; a letter is one page, and is
        signed at its foot. A notebook asks for it in its metadata,
        `thread_repair: {layout: sheet}`.
    company : Company
        Whose document it is: name, logo, how dates are written, foot of each page.
    """

    title: str
    document: str = ""
    revision: str = ""
    status: str = "draft"
    date: datetime.date | None = None
    customer: str = ""
    item: str = ""
    serials: str = ""
    prepared_by: str = ""
    checked_by: str = ""
    approved_by: str = ""
    inputs: str = ""
    checksum_of: str = "inputs"
    layout: str = "report"
    company: Company = NONE

    def __post_init__(self) -> None:
        if self.layout not in LAYOUTS:
            raise InputError(f"layout must be one of {', '.join(LAYOUTS)}, got {self.layout!r}")

    @property
    def header(self) -> str:
        """The line at the top of every page."""
        texts = (self.company.company, self.document, self.revision)
        company, document, revision = map(escape.visible, texts)
        return " · ".join(filter(None, (company, document, revision and f"Revision {revision}")))

    def as_data(self) -> dict[str, object]:
        """Return what the templates read, every text already visible and on one line."""
        date, title = self.date or NO_DATE, escape.visible(self.title)
        foot = escape.visible(self.company.footer), program.name()
        people = {
            "Prepared by": self.prepared_by,
            "Checked by": self.checked_by,
            "Approved by": self.approved_by,
        }
        short = {
            "Document": self.document,
            "Revision": self.revision,
            "Status": self.status.upper() if self.status == "draft" else self.status,
            "Date": self.company.date(self.date),
            # It has lines of its own to sign on.
            **(people if self.layout == "sheet" else {}),
        }
        long = {"Customer": self.customer, "Item": self.item, "Serial numbers": self.serials}
        return {
            "title": title,
            "header": self.header or title,
            "status": self.status,
            "short": _rows(short),
            "long": _rows(long),
            "signed": _rows(people, empty=True) if self.layout == "report" and self.status else [],
            "inputs": f"{self.checksum_of} {self.inputs[:12]}" if self.inputs else "",
            "authors": [*filter(None, [escape.visible(self.prepared_by)])],
            "keywords": [*filter(None, [self.status, self.header])],
            "date": [date.year, date.month, date.day],
            "layout": self.layout,
            "company": escape.visible(self.company.company),
            "program": " · ".join(filter(None, foot)),
            "logo": f"logo.{self.company.logo_kind}" if self.company.logo else "",
            "logo_sha256": hashlib.sha256(self.company.logo).hexdigest(),
        }


def _rows(entries: Mapping[str, str], *, empty: bool = False) -> list[list[str]]:
    """Return name and value of each entry, of one without a value only if asked to."""
    shown = ([name, escape.visible(value)] for name, value in entries.items())
    return [row for row in shown if row[1] or empty]


def company(folder: Path) -> Company:
    """Return what the nearest `thread_repair.toml` says, in a folder or above it.

    Raises
    ------
    InputErrors
        With one sentence for each fault.
    """
    start = folder.resolve()
    for place in (start, *start.parents):
        if (place / FILE).is_file():
            return _read(place / FILE)
    return NONE


def _read(file: Path) -> Company:
    text = files.text(file, largest=_LARGEST_FILE, what="what a company says of itself")
    try:
        given = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = " ".join(str(error).split())
        raise InputError(f"{FILE}: not TOML ({said}); expected lines key = 'text'") from None
    faults, logo, kind = list(_faults(given)), given.pop("logo", ""), ""
    try:
        logo, kind = _logo(file.parent, logo) if isinstance(logo, str) and logo else (b"", "")
    except InputError as error:
        faults.append(f"logo: {error}")
    if faults:
        raise InputErrors(f"{FILE}: {fault}" for fault in faults)
    return Company(**given, logo=logo, logo_kind=kind)


def _faults(given: dict[str, object]) -> Iterator[str]:
    texts = {key: value for key, value in given.items() if isinstance(value, str)}
    for key, value in given.items():
        if key not in KEYS:
            yield str(unknown("key", key, KEYS, count=1))
        elif key not in texts:
            yield f"{key}: expected text in quotes, got {shown(value)}"
        elif len(texts[key]) > _LONGEST:
            yield f"{key}: longer than {_LONGEST} characters"
    if not {"date_language", "date_format"} & given.keys():
        return
    language, style = texts.get("date_language", "en"), texts.get("date_format", "iso")
    from babel import Locale, UnknownLocaleError

    try:
        Locale.parse(language.replace("-", "_"))
    except (UnknownLocaleError, ValueError, TypeError):
        yield f"date_language: {shown(language)} is no language; expected a code such as 'de'"
        return
    if style not in STYLES and "y" not in style:
        yield message("date_without_year", style=shown(style), styles=", ".join(STYLES))


def _logo(folder: Path, name: str) -> tuple[bytes, str]:
    path = files.beside(folder, name)
    data = path.read_bytes()
    if len(data) > _LARGEST_LOGO:
        raise InputError(f"{shown(name)} is larger than {_LARGEST_LOGO / 1e6:g} MB")
    if data.startswith(_PNG):
        return data, "png"
    try:
        text = data.decode("utf-8")
        is_svg = ElementTree.fromstring(text).tag.endswith("}svg") and "<!ENTITY" not in text
    except (UnicodeDecodeError, ElementTree.ParseError):
        is_svg = False
    if not is_svg:
        raise InputError(f"{shown(name)} is neither a PNG nor an SVG picture")
    if ACTIVE_SVG.search(text):
        raise InputError(f"{shown(name)} runs or loads something; expected a plain drawing")
    return data, "svg"
