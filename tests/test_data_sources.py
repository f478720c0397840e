"""Every number of the data has a document, and every document is there for a number."""

import re
from importlib import resources
from pathlib import Path

import pytest

import thread_repair
from thread_repair.sources import HOW_KNOWN, all_sources
from thread_repair.tables import rows

PACKAGE = Path(thread_repair.__file__).parent
TABLES = sorted(
    path.name
    for path in resources.files("thread_repair").joinpath("data").iterdir()
    if path.name.endswith(".csv")
)


def faults(row, known):
    """What is wrong with the source of one row."""
    found = []
    if row["source"] not in known:
        found.append(f"source {row['source']!r} is not in sources.toml")
    if row["how_known"] not in HOW_KNOWN:
        found.append(f"how_known is {row['how_known']!r}")
    if row["how_known"] == "read" and not row.get("clause", "").strip():
        found.append("read, but no clause says where")
    return found


@pytest.mark.parametrize("table", TABLES)
def test_every_row_has_a_source(table):
    wrong = {
        number: found
        for number, row in enumerate(rows(table), start=2)
        if (found := faults(row, all_sources()))
    }
    assert not wrong, f"{table}: {wrong}"


@pytest.mark.parametrize("table", TABLES)
def test_no_row_is_there_twice(table):
    lines = resources.files("thread_repair").joinpath(f"data/{table}").read_text("utf-8")
    body = lines.splitlines()[1:]
    assert len(set(body)) == len(body)


def test_the_audit_sees_each_fault():
    good = {"source": "geometry", "how_known": "read", "clause": "1"}
    assert not faults(good, all_sources())
    assert faults({**good, "source": "hearsay"}, all_sources())
    assert faults({**good, "how_known": "believed"}, all_sources())
    assert faults({**good, "clause": " "}, all_sources())


def unused(known, tables, code):
    """Documents that no row and no quoted id in the code names."""
    cited = {row["source"] for table in tables for row in rows(table)}
    quoted = set(re.findall(r"[\"']([a-z0-9][a-z0-9.-]*)[\"']", code))
    return sorted(set(known) - cited - quoted)


def test_every_source_is_used():
    code = "\n".join(path.read_text("utf-8") for path in sorted(PACKAGE.rglob("*.py")))
    assert not unused(all_sources(), TABLES, code)


def test_an_unused_source_is_seen():
    assert unused({"never-cited": None}, TABLES, "x = 'iso-68-1'") == ["never-cited"]
    assert unused({"iso-68-1": None}, [], "x = 'iso-68-1'") == []
