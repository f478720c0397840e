"""Write a commented case file to start from."""

from __future__ import annotations

import textwrap
from collections.abc import Container, Mapping
from pathlib import Path

import attrs

from ..errors import InputError
from .schema import Case

#: Values of the starter file: an invented joint, so that the file runs as it is.
EXAMPLE = {
    "title": "Repair of a stripped thread",
    "document": "TR-0001",
    "revision": "A",
    "status": "draft",
    "item": "invented bracket",
    "scope": "invented example; replace every value",
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "12 mm",
    "insert_length": "1.5 D",
    "hole_class": "6H",
    "screw_class": "6g",
    "insert_hole_class": "6H",
}
#: Of these, words that can be true of no real part.
PLACEHOLDERS = ("item", "scope")


def text(values: Mapping[str, str] = EXAMPLE, *, assumed: Container[str] = ()) -> str:
    """Return a case file: every key, those with a value filled in, the others commented out.

    Keys of `assumed` are marked as such, to be confirmed.
    """
    from .flat_yaml import written  # late: what reads a case checks it against this example

    lines = [
        "# One joint, one repair. Lengths, forces, stresses and temperatures carry their unit",
        '# ("12 mm", "0.5 in", "1.5 D", "8 kN", "27 ksi", "80 degC"); a bare number is in mm, N,',
        "# MPa or degC. Remove the # before a key to use it.",
    ]
    for field in attrs.fields(Case):
        if "help" not in field.metadata:
            continue
        if field.metadata["group"]:
            lines += ["", f"# ---- {field.metadata['group']}"]
        lines += textwrap.wrap(
            field.metadata["help"], 98, initial_indent="# ", subsequent_indent="# "
        )
        if field.name in values:
            mark = "  # assumed" if field.name in assumed else ""
            lines.append(written({field.name: values[field.name]}).rstrip("\n") + mark)
        else:
            default = field.default
            shown = "" if default is None or default is attrs.NOTHING else f" {default}"
            lines.append(f"# {field.name}:{shown.rstrip()}")
    return "\n".join(lines) + "\n"


def write(path: Path, values: Mapping[str, str] = EXAMPLE, *, assumed: Container[str] = ()) -> Path:
    """Write a case file (`text`) and return where it stands; a folder gets a `case.yaml`.

    Raises
    ------
    InputError
        If the file exists or cannot be written; nothing is overwritten.
    """
    file = path if path.suffix in (".yaml", ".yml") else path / "case.yaml"
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("x", encoding="utf-8") as stream:
            stream.write(text(values, assumed=assumed))
    except FileExistsError:
        raise InputError(f"{file} exists already; give another path") from None
    except OSError as error:
        raise InputError(f"{file} cannot be written: {error.strerror}") from None
    return file
