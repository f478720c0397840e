"""Whose report it is: name, logo, dates and foot of a company, from a file beside its cases."""

import datetime
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from .. import files
from ..errors import InputError, InputErrors, message, shown, unknown
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
