"""The whole verification, each part computed once, and its plain data for results.json."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import Any

from .. import case as cases
from .. import program, tables, words
from ..errors import InputError
from ..facts import Fact, count, fact
from ..study import Study, study
from ..tables import UNCONFIRMED
from . import checks as printed
from . import closed_forms, collapse, exact, methods
from .checks import Held

FORMAT = "thread-repair-verification/1"


@dataclass(frozen=True)
class Verification:
    """What the program was held against, and what came of it.

    Parameters
    ----------
    recompute : "", "true" or "all"
        Which tabled bounds are solved anew, see `collapse.RECOMPUTE`.
    pull_tests : folder with cases that name pull tests, or ""
    """

    recompute: str = ""
    pull_tests: str = ""

    def __post_init__(self) -> None:
        if self.recompute not in collapse.RECOMPUTE:
            raise InputError(f"recompute must be true, all or empty, got {self.recompute!r}")

    @cached_property
    def checks(self) -> tuple[printed.Check, ...]:
        """Every printed value against the computed one."""
        return printed.checks()

    @cached_property
    def statements(self) -> Mapping[str, tuple[Held, ...]]:
        """What the solvers are held against, by topic."""
        return {
            "exact": tuple(exact.exact_solutions()),
            "certificate": tuple(exact.certificates()),
            "solved_anew": tuple(collapse.solved_anew(self.recompute)),
            "capped": tuple(collapse.capped()),
            "convergence": tuple(collapse.converging(self.recompute)),
            "chance": tuple(closed_forms.closed_forms()),
        }

    @cached_property
    def methods(self) -> tuple[methods.MethodRange, ...]:
        """The published methods against the reference method."""
        return methods.ranges()

    @cached_property
    def own_tests(self) -> tuple[Study, ...]:
        """The cases of the user's own pull tests."""
        if not self.pull_tests:
            return ()
        files = sorted(Path(self.pull_tests).rglob("*.yaml"))
        found = tuple(study(cases.load(file)) for file in files)
        return tuple(each for each in found if each.case.pull_tests)

    @cached_property
    def counts(self) -> Mapping[str, Counter[str]]:
        """Outcomes by topic."""
        found = {"printed": Counter(each.outcome for each in self.checks)}
        for topic, some in self.statements.items():
            found[topic] = Counter("passed" if each.held else "failed" for each in some)
        return found

    @property
    def failed(self) -> int:
        """How many checks failed."""
        return sum(each["failed"] for each in self.counts.values())

    @property
    def total(self) -> int:
        """How many checks there are."""
        return sum(sum(each.values()) for each in self.counts.values())

    def statement(self) -> Fact:
        """Whether all checks passed."""
        values = {
            "total": count(self.total),
            "known": count(self.counts["printed"]["known difference"]),
        }
        if not self.failed:
            return fact("verification_passed", "info", **values)
        many = "one" if self.failed == 1 else "several"
        return fact(f"verification_failed_{many}", "limit", failed=count(self.failed), **values)

    def as_data(self) -> dict[str, Any]:
        """Return everything as results.json holds it; README.md names its keys."""
        return {
            "format": FORMAT,
            "version": program.version(),
            "data_sha256": data_digest(),
            "recompute": self.recompute,
            "passed": self.failed == 0,
            "statement": words.sentence(self.statement()),
            "counts": {topic: dict(each) for topic, each in self.counts.items()},
            "documents": printed.summaries(self.checks).to_dict("records"),
            "printed_values": [each.as_data() for each in self.checks],
            "statements": [each.as_data() for some in self.statements.values() for each in some],
            "bounds": [
                {
                    "name": each.name, "state": each.state, "position": each.position,
                    "lower_over_formula": float(each.lower),
                    "upper_over_formula": float(each.upper),
                }
                for each in (*collapse.cells(), *collapse.bosses())
            ],
            "methods": [asdict(each) for each in self.methods],
            "own_tests": [
                {
                    "case": each.case.title, "state": group.group.state,
                    "size": group.group.size, "engagement_mm": group.group.engagement,
                    **asdict(agreement),
                }
                for each in self.own_tests
                for group in each.evidence.evidence.groups
                for agreement in group.agreement
            ],
        }  # fmt: skip


def unconfirmed() -> Mapping[str, Counter[str]]:
    """Count the rows known from memory by the document that would settle them, and by table.

    The document that would settle most comes first.
    """
    found: dict[str, Counter[str]] = {}
    for name in sorted(data_files()):
        if name.endswith(".csv") and name != "credibility.csv":
            for row in tables.rows(name):
                if row["how_known"] in UNCONFIRMED:
                    found.setdefault(row["source"], Counter())[name.removesuffix(".csv")] += 1
    return dict(sorted(found.items(), key=lambda item: -item[1].total()))


def data_files() -> Mapping[str, bytes]:
    """Return the data files of the package by name."""
    folder = Path(str(resources.files("thread_repair").joinpath("data")))
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def data_digest() -> str:
    """Return one SHA-256 over all data files."""
    names = {name: hashlib.sha256(data).hexdigest() for name, data in data_files().items()}
    return hashlib.sha256(json.dumps(names, sort_keys=True).encode()).hexdigest()
