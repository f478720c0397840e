"""ISO 965-1, ISO general purpose metric screw threads, tolerances; ISO 965-4, hot-dip galvanized.

What was read stands in `data/printed/iso_965.csv`. Here the tables are held against the formulas of
the standard, which are recalled.

Not among the values, because the print is wrong or outside the standard's tables: M9x1-6g major
maximum (misprint), pitch diameter maxima of M9x1, M11x1.5 and M12x0.5-6H.
"""

import math
from decimal import Decimal

import pytest

from thread_repair import tables, threads
from thread_repair.errors import ValidityError
from thread_repair.threads import iso

# ------------------------------------------- the tables against the formulas, with their rounding

R40 = (
    100, 106, 112, 118, 125, 132, 140, 150, 160, 170, 180, 190, 200, 212, 224, 236, 250, 265, 280,
    300, 315, 335, 355, 375, 400, 425, 450, 475, 500, 530, 560, 600, 630, 670, 710, 750, 800, 850,
    900, 950,
)  # fmt: skip
#: Grade 6 values that the standard moved for smooth progression: recalled where not printed.
MOVED = {
    ("pitch", 5.6, 0.5): 75, ("pitch", 5.6, 0.75): 90, ("pitch", 90.0, 5.0): 250,
    ("pitch", 355.0, 3.0): 250, ("pitch", 355.0, 4.0): 280,
    ("internal", 0.25): 71, ("internal", 0.5): 140, ("internal", 1.0): 236,
    ("external", 0.2): 56, ("external", 4.0): 475,
}  # fmt: skip
#: Cells of other grades that differ from factor and rounding: recalled, beyond M68.
MOVED_CELLS = {("external", 8.0, 8): 1180}
FACTORS = {3: 0.5, 4: 0.63, 5: 0.8, 6: 1.0, 7: 1.25, 8: 1.6, 9: 2.0}
HOLE_PITCH_FACTORS = {4: 0.85, 5: 1.06, 6: 1.32, 7: 1.7, 8: 2.12}


def preferred(micrometres: float) -> int:
    """Nearest R40 number, then whole micrometres, half to even."""
    decade, index = divmod(round(40 * math.log10(micrometres)), 40)
    return round(Decimal(R40[index]) * Decimal(10) ** (decade - 2))


def test_pitch_diameter_table_follows_the_formula() -> None:
    compared = 0
    for row in tables.rows("iso_965_pitch_diameter.csv"):
        over, up_to, pitch = (float(row[name]) for name in ("over_mm", "up_to_mm", "pitch_mm"))
        diameter = math.sqrt(over * up_to)
        formula = 90 * pitch**0.4 * diameter**0.1
        base = MOVED.get(("pitch", up_to, pitch), preferred(formula))
        assert (base != preferred(formula)) is (("pitch", up_to, pitch) in MOVED)
        factors = HOLE_PITCH_FACTORS if row["side"] == "internal" else FACTORS
        for grade, factor in factors.items():
            if row[f"grade_{grade}_um"]:
                compared += 1
                assert int(row[f"grade_{grade}_um"]) == preferred(base * factor), row
    assert compared > 500


def test_crest_table_follows_the_formula() -> None:
    compared = 0
    for row in tables.rows("iso_965_crest.csv"):
        side, pitch = row["side"], float(row["pitch_mm"])
        if side == "external":
            formula = 180 * pitch ** (2 / 3) - 3.15 / math.sqrt(pitch)
        elif pitch <= 0.8:
            formula = 433 * pitch - 190 * pitch**1.22
        else:
            formula = 230 * pitch**0.7
        base = MOVED.get((side, pitch), preferred(formula))
        assert (base != preferred(formula)) is ((side, pitch) in MOVED)
        for grade in range(4, 9):
            if row[f"grade_{grade}_um"]:
                compared += 1
                expected = MOVED_CELLS.get((side, pitch, grade), preferred(base * FACTORS[grade]))
                assert int(row[f"grade_{grade}_um"]) == expected, row
    assert compared > 150


def test_deviations_lie_by_the_formula() -> None:
    """Within one step of the R40 series: positions e and f are recalled as the table has them."""
    base = {"G": 15, "g": 15, "f": 30, "e": 50}
    for row in tables.rows("iso_965_deviations.csv"):
        formula = base[row["position"]] + 11 * float(row["pitch_mm"])
        assert abs(int(row["deviation_um"])) == pytest.approx(formula, rel=0.11), row


def test_formula_alone_would_miss_printed_holes() -> None:
    """M3-6H and M6-6H: formula and preferred numbers give 8 and 12 micrometres less."""
    assert (
        iso.crest_tolerance("internal", 6, 0.5).micrometres - preferred(433 * 0.5 - 190 * 0.5**1.22)
        == 8
    )
    assert iso.crest_tolerance("internal", 6, 1.0).micrometres - preferred(230) == 12


def test_lengths_of_engagement_follow_the_formula() -> None:
    """2.24 P d^0.2 and 6.7 P d^0.2, d the least diameter of the range, roundly (recalled)."""
    for row in tables.rows("iso_965_engagement.csv"):
        pitch, diameter = float(row["pitch_mm"]), float(row["over_mm"])
        assert float(row["normal_over_mm"]) == pytest.approx(2.24 * pitch * diameter**0.2, rel=0.21)
        assert float(row["normal_up_to_mm"]) == pytest.approx(6.7 * pitch * diameter**0.2, rel=0.21)


def test_every_series_thread_has_its_usual_classes() -> None:
    """The finest pitches up to M2.2 have no grade 6; everything else is complete."""
    without = set()
    for thread in iso.known():
        try:
            threads.internal_limits(thread, "6H")
            threads.external_limits(thread, "6g")
        except ValidityError:
            without.add(thread.designation)
    assert without == {"M1.6x0.2", "M1.8x0.2", "M2x0.25", "M2.2x0.25"}
