"""Every number of the data has a document, and every document is there for a number."""

import math
import pkgutil
import re
import tomllib
from collections import Counter
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

import thread_repair
from thread_repair.errors import DataError
from thread_repair.materials import values
from thread_repair.tables import HOW_KNOWN, all_sources, cited, constant, rows

PACKAGE = Path(thread_repair.__file__).parent
TABLES = sorted(
    path.relative_to(PACKAGE / "data").as_posix() for path in (PACKAGE / "data").rglob("*.csv")
)


def faults(row, known):
    """What is wrong with the source of one row."""
    found = []
    if None in row or None in row.values():
        return ["not as many cells as the header has"]
    if row["source"] not in known:
        found.append(f"source {row['source']!r} is not in sources.toml")
    if row["how_known"] not in HOW_KNOWN:
        found.append(f"how_known is {row['how_known']!r}")
    if row["how_known"] == "read" and not row.get("clause", "").strip():
        found.append("read, but no clause says where")
    return found


def test_every_row_has_a_source(every):
    @every(TABLES)
    def _(table):
        wrong = {
            number: found
            for number, row in enumerate(rows(table), start=2)
            if (found := faults(row, all_sources()))
        }
        assert not wrong, f"{table}: {wrong}"


def test_no_row_is_there_twice(every):
    @every(TABLES)
    def _(table):
        lines = resources.files("thread_repair").joinpath(f"data/{table}").read_text("utf-8")
        body = lines.splitlines()[1:]
        assert len(set(body)) == len(body)


def test_what_is_derived_here_stands_where_the_clause_says():
    places = [row["clause"] for row in rows("references.csv") if "thread_repair." in row["clause"]]
    assert len(places) > 3
    for place in places:
        assert pkgutil.resolve_name(re.search(r"thread_repair(\.\w+)+", place)[0]), place


def test_the_audit_sees_each_fault():
    good = {"source": "geometry", "how_known": "read", "clause": "1"}
    assert not faults(good, all_sources())
    assert faults({**good, "source": "hearsay"}, all_sources())
    assert faults({**good, "how_known": "believed"}, all_sources())
    assert faults({**good, "clause": " "}, all_sources())
    assert faults({**good, "clause": None}, all_sources())  # a short row
    assert faults({**good, None: ["1"]}, all_sources())  # a long one


#: The tables of values that are read as one, and their rows: material, property, value.
VALUES = (
    ("mil_hdbk_5j.csv", "parent_values.csv"),
    ("screw_values.csv",), ("wire_values.csv",), ("finish_values.csv",),
)  # fmt: skip


def twice(tables):
    """Properties of which a material has two values: no program says which of them counts."""
    printed = values._printed
    known = Counter(
        (row["material"], name)
        for table in tables
        for row in rows(table)
        if row["material"]
        for name, _ in printed(row)
    )
    return [each for each, times in known.items() if times > 1]


def test_no_material_has_two_values_of_a_property():
    assert not [each for tables in VALUES for each in twice(tables)]
    assert twice(("wire_values.csv", "wire_values.csv"))


def torn(lines):
    """Tables of strength at temperature that do not rise, or have two places in documents."""
    found = {}
    for row in lines:
        found.setdefault((row["material"], row["exposure"], row["property"]), []).append(row)
    return [
        key
        for key, some in found.items()
        if len({(x["source"], x["clause"], x["how_known"]) for x in some}) > 1
        or (np.diff([float(x["temperature"]) for x in some]) <= 0).any()
        or len({x["temperature_unit"] for x in some}) > 1
    ]


def test_each_table_of_strength_at_temperature_is_one():
    lines = rows("temperature.csv")
    assert len(lines) > 50 and not torn(lines)
    assert torn((*lines[:3], {**lines[3], "clause": "elsewhere"}, *lines[4:]))
    assert torn((lines[1], lines[0], *lines[2:]))


def test_what_an_engineer_states_has_a_listed_source():
    stated = values.supplied("certificate 1", "6061-T6", "tensile")
    assert stated.source in all_sources() and stated.how_known in HOW_KNOWN


#: The one assumption without a document: no table of castings gives two bases of one strength. It
#: gives way to a key of the case.
ASSUMED = {("constants.csv", "parent_scatter_cast")}


def numbers_of(row):
    """The columns of a row that hold a number."""
    return [
        name for name, text in row.items()
        if name not in ("source", "clause", "how_known") and re.fullmatch(r"-?\d+(\.\d+)?", text or "")
    ]  # fmt: skip


def test_common_practice_gives_no_number(every):
    @every(TABLES)
    def _(table):
        found = {
            (table, next(iter(row.values())))
            for row in rows(table)
            if "common_practice" in (row["how_known"], row["source"].replace("-", "_"))
            and numbers_of(row)
        }
        assert found <= ASSUMED


#: What a publisher is called that sells parts, tools or material.
FIRMS = re.compile(
    r"\b(inc|ltd|llc|gmbh|ag|corp|corporation|company|co|caster|foundry|maker)\b", re.I
)


def test_no_document_is_that_of_a_firm():
    assert not {id_ for id_, each in all_sources().items() if FIRMS.search(each.publisher)}


def test_the_assumed_scatter_covers_four_in_five_pairs_of_a_and_b_values():
    """A: 99 %, B: 90 % of a normal distribution exceed it: s = (B - A) / (2.326 - 1.282)."""
    pairs = {}
    for row in rows("mil_hdbk_5j.csv"):
        key = (row["alloy"], row["temper"], row["form"], row["size_in"])
        for name in ("tensile_l", "tensile_lt", "shear"):
            if row[name]:
                pairs.setdefault((*key, name), {})[row["basis"]] = float(row[name])
    scatter = []
    for pair in pairs.values():
        if {"A", "B"} <= set(pair):
            deviation = (pair["B"] - pair["A"]) / (2.326 - 1.282)
            scatter.append(deviation / (pair["A"] + 2.326 * deviation))
    assumed = constant("parent_scatter_wrought").value
    assert len(scatter) == 32
    assert sum(each <= assumed for each in scatter) / len(scatter) == pytest.approx(0.8125)


def test_the_assumed_bearing_diameter_is_that_of_hex_heads():
    """Washer faces of ISO 4014 and clearance holes of ISO 273, medium, recalled, mm: M6 to M16."""
    faces = {6: (8.88, 6.6), 8: (11.63, 9.0), 10: (14.63, 11.0), 12: (16.63, 13.5),
             16: (22.49, 17.5)}  # fmt: skip
    ratios = [(face + hole) / 2 / major for major, (face, hole) in faces.items()]
    assert (round(min(ratios), 2), round(max(ratios), 2)) == (1.25, 1.29)
    assert constant("bearing_diameter_over_major").value == math.ceil(10 * max(ratios)) / 10


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


def test_what_is_cited_stands_in_the_table():
    assert [each.source for each in cited("overlap-bearing", "areas")] == [
        "theory-of-plasticity", "geometry", "fed-std-h28-2b",
    ]  # fmt: skip
    with pytest.raises(DataError, match="cites nothing under 'overlap-baering'"):
        cited("areas", "overlap-baering")


def test_no_entry_of_the_catalogue_stands_in_two_files():
    found = Counter(
        (part, name)
        for file in (PACKAGE / "data" / "words").glob("*.toml")
        for part, entries in tomllib.loads(file.read_text("utf-8")).items()
        for name in entries
    )
    assert len(found) > 300 and [entry for entry, times in found.items() if times > 1] == []
