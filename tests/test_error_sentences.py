"""Every error sentence of the data is used, and gets the values it names and no others."""

from __future__ import annotations

import ast
import re
import string
import tomllib
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "thread_repair"
#: What puts values into a sentence: the function, and the constructor of every error.
USE = re.compile(r"message|\w+Error\.of")
SENTENCES = tomllib.loads((PACKAGE / "data" / "errors.toml").read_text(encoding="utf-8"))


def _calls() -> list[tuple[str, str, set[str]]]:
    """Return of every use of a sentence its place, its name and the values handed to it."""
    found = []
    for file in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and USE.fullmatch(ast.unparse(node.func)):
                if not isinstance(node.args[0], ast.Constant):
                    continue  # `of` hands on what it is given
                place = f"{file.relative_to(PACKAGE)}:{node.lineno}"
                given = {str(value.arg) for value in node.keywords}
                found.append((place, str(node.args[0].value), given))
    return found


CALLS = _calls()


@pytest.mark.parametrize(("place", "name", "given"), CALLS, ids=[call[0] for call in CALLS])
def test_a_sentence_gets_the_values_it_names(place: str, name: str, given: set[str]) -> None:
    fields = [field for _, field, _, _ in string.Formatter().parse(SENTENCES[name]) if field]
    assert given == {field.partition(".")[0].partition("[")[0] for field in fields}, place


def test_every_sentence_is_used_and_stands_once() -> None:
    assert {name for _, name, _ in CALLS} == set(SENTENCES)
    assert len(set(SENTENCES.values())) == len(SENTENCES)
