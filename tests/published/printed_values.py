"""Read the printed values that stand beside the tests of published tables."""

from __future__ import annotations

import csv
from pathlib import Path

FOLDER = Path(__file__).parent / "check_values"


def printed(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def label(row: dict[str, str]) -> str:
    skip = ("source", "clause", "how_known", "known_difference")
    return " ".join(value for key, value in row.items() if key not in skip)
