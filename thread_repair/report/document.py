"""What stands on the title block of a report: number, revision, status, names."""

import datetime
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from .. import program
from ..errors import InputError
from . import escape
from .company import NONE, Company

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
