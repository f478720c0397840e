"""Every error sentence of the data is used, and gets the values it names and no others."""

import ast
import string
import tomllib
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "thread_repair"
SENTENCES = tomllib.loads((PACKAGE / "data" / "errors.toml").read_text(encoding="utf-8"))


def puts_values_in(function: ast.expr) -> bool:
    """Whether a call is of `message`, or of the constructor of an error by its sentence."""
    if isinstance(function, ast.Attribute):
        error = getattr(function.value, "id", "")
        return function.attr == "of" and error.endswith("Error")
    return isinstance(function, ast.Name) and function.id == "message"


@pytest.fixture(scope="module")
def calls() -> list[tuple[str, str, set[str]]]:
    """Of every use of a sentence its place, its name and the values handed to it."""
    found = []
    for file in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and puts_values_in(node.func):
                if not isinstance(node.args[0], ast.Constant):
                    continue  # `of` hands on what it is given
                place = f"{file.relative_to(PACKAGE)}:{node.lineno}"
                given = {str(value.arg) for value in node.keywords}
                found.append((place, str(node.args[0].value), given))
    return found


def test_a_sentence_gets_the_values_it_names(calls: list[tuple[str, str, set[str]]]) -> None:
    wrong = []
    for place, name, given in calls:
        fields = [field for _, field, _, _ in string.Formatter().parse(SENTENCES[name]) if field]
        if given != {field.partition(".")[0].partition("[")[0] for field in fields}:
            wrong.append((place, name))
    assert not wrong


def test_every_sentence_is_used_and_stands_once(calls: list[tuple[str, str, set[str]]]) -> None:
    assert {name for _, name, _ in calls} == set(SENTENCES)
    assert len(set(SENTENCES.values())) == len(SENTENCES)
