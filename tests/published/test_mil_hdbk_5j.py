"""Allowables of MIL-HDBK-5J, held row by row against the data of the project.

Read: MIL-HDBK-5J (31 January 2003, public release), chapters 3 and 4; each row of
check_values/mil_hdbk_5j.csv with its table, page, size and basis, in ksi, Msi and per cent.
"""

from __future__ import annotations

import pytest
from printed_values import printed

from thread_repair.materials import parent, parents, shear_ratio, shear_ratios, shear_strength
from thread_repair.tables import rows

#: 4.4482216152605 N over (25.4 mm)^2, a thousand times.
KSI = 4448.2216152605 / 25.4**2
PRINTED = printed("mil_hdbk_5j")
BASES = [row for row in PRINTED if row["basis"] != "B"]


def label(row: dict[str, str]) -> str:
    return f"{row['alloy']}-{row['temper']}-{row['form']}-{row['size_in']}-{row['basis']}"


def least(row: dict[str, str], *columns: str) -> float | None:
    found = [float(row[column]) for column in columns if row[column]]
    return min(found) if found else None


def test_all_rows_are_there():
    assert len(PRINTED) == len(rows("mil_hdbk_5j.csv")) == 96
    assert len(BASES) == 85 == sum(p.identity_reference.source == "mil-hdbk-5j" for p in parents())


@pytest.mark.parametrize("row", BASES, ids=label)
def test_strengths(row):
    """Of two printed directions the lower one counts."""
    found = parent(row["parent"])
    assert found.id == row["parent"]
    for name, value in (
        ("tensile", least(row, "Ftu_L", "Ftu_LT")),
        ("yield", least(row, "Fty_L", "Fty_LT")),
        ("shear", least(row, "Fsu")),
    ):
        own = {v.property: v for v in found.values}.get(name)
        if value is None:
            assert own is None
            continue
        assert own is not None
        assert own.value == pytest.approx(value * KSI, rel=1e-6)
        assert own.basis == row["basis"]
        assert own.reference.clause == f"Table {row['table']}, p. {row['page']}"
        assert own.reference.how_known == "read"
    for name, column, factor in (
        ("elongation", "e_percent", 1.0),
        ("elastic_modulus", "E_Msi", 1000 * KSI),
        ("poisson", "mu", 1.0),
    ):
        if row[column]:
            assert getattr(found, name) == pytest.approx(float(row[column]) * factor, rel=1e-6)


@pytest.mark.parametrize("row", BASES, ids=label)
def test_size(row):
    """The limits of the product's size, in; a casting has none but D357.0."""
    found = parent(row["parent"])
    size = row["size_in"].replace(" wall", "").replace(" designated", "").lstrip("<=")
    ends = size.split("-")
    if not ends[0].replace(".", "").isdigit():
        assert found.thickness_to != found.thickness_to
        return
    low, high = (None, ends[0]) if len(ends) == 1 else ends
    if found.id == "2024-T351-bar":
        high = "1.000"  # the transverse strength printed holds up to there: note of the table
    assert found.thickness_to == pytest.approx(25.4 * float(high))
    if low is None:
        assert found.thickness_from != found.thickness_from
    else:
        assert found.thickness_from == pytest.approx(25.4 * float(low))


@pytest.mark.parametrize("row", [r for r in PRINTED if r["basis"] == "B"], ids=label)
def test_b_basis_rows_are_kept_and_make_no_parent(row):
    (own,) = (
        r
        for r in rows("mil_hdbk_5j.csv")
        if (r["alloy"], r["temper"], r["form"], r["size_in"], r["basis"])
        == (row["alloy"], row["temper"], row["form"], row["size_in"], "B")
    )
    assert not own["material"]
    for name, column in (("tensile_lt", "Ftu_LT"), ("yield_lt", "Fty_LT"), ("shear", "Fsu")):
        assert (float(own[name]) if own[name] else None) == least(row, column)
    # A B value is exceeded by 90 of 100 pieces, an A value by 99: it is never the lower one.
    assert parent(row["parent"]).tensile <= least(row, "Ftu_L", "Ftu_LT") * KSI


@pytest.mark.parametrize("row", [r for r in PRINTED if r["Fsu"]], ids=label)
def test_the_family_ratio_is_at_most_the_printed_one(row):
    """Where no shear strength is printed, ratio x tensile strength errs to the safe side."""
    family = parent(row["parent"]).family
    greatest = max(float(row[c]) for c in ("Ftu_L", "Ftu_LT") if row[c])
    assert shear_ratio(family).ratio <= float(row["Fsu"]) / greatest * (1 + 1e-12)


def test_cast_aluminium_shears_at_six_tenths_of_its_tensile_strength():
    """27 rows: 36/60 = 0.600 (A201.0-T7) to 16/25 = 0.640, mean 0.628; not 0.70 or 0.86.

    Print rounds to whole ksi: A357.0 class 10, A356.0 classes 1 and 10 have 24/38 = 0.632.
    """
    own = [r for r in shear_ratios("cast aluminium") if r.reference.source == "mil-hdbk-5j"]
    assert len(own) == 27
    ratios = [r.ratio for r in own]
    assert min(ratios) == pytest.approx(36 / 60)
    assert max(ratios) == pytest.approx(16 / 25)
    assert sum(ratios) / 27 == pytest.approx(0.628, abs=0.0005)
    assert shear_ratio("cast aluminium").ratio == 36 / 60
    # ASTM B26 356.0-T6, 30 ksi: 0.6 x 30 = 18 ksi.
    strength = shear_strength(parent("356.0-T6-sand"))
    assert strength.derived and strength.value == pytest.approx(18 * KSI, rel=1e-6)


def test_thick_extrusions_keep_half():
    """6061-T6 over 1 to 6.5 in: 19 over 38 ksi; 6082-T6 bar over 20 mm, 310 MPa: 155 MPa."""
    thick = parent("6061-T6-extrusion-6.5in")
    assert shear_strength(thick).value == pytest.approx(19 * KSI, rel=1e-6)
    assert shear_strength(parent("6082-T6-bar-20-150")).value == pytest.approx(155)
    assert shear_strength(parent("6082-T6")).value == pytest.approx(295 * 17 / 27)


def test_classes_of_premium_castings():
    """AMS-A-21180: classes 1 to 3 for designated areas, 10 to 12 for the others."""
    for each in parents():
        if "-class-" in each.id:
            number = int(each.id.rsplit("-", 1)[1])
            assert each.specimen == ("designated areas" if number < 10 else "non-designated areas")
