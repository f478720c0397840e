"""The whole verification, each part computed once."""

import hashlib
import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from .. import case, tables
from ..errors import InputError
from ..facts import Fact, count, fact
from ..study import study
from ..uncertainty.pull_tests.evidence import Agreement, GroupEvidence
from . import checks as printed
from . import collapse, exact, methods

_DATA = Path(__file__).parents[1] / "data"


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
    def statements(self) -> Mapping[str, tuple[printed.Held, ...]]:
        """What the solvers are held against, by topic."""
        return {
            "exact": tuple(exact.exact_solutions()),
            "certificate": tuple(exact.certificates()),
            "solved_anew": tuple(collapse.solved_anew(self.recompute)),
            "capped": tuple(collapse.capped()),
            "convergence": tuple(collapse.converging(self.recompute)),
            "chance": tuple(exact.closed_forms()),
        }

    @property
    def held(self) -> tuple[printed.Held, ...]:
        """The same of all topics."""
        return tuple(each for some in self.statements.values() for each in some)

    @cached_property
    def methods(self) -> tuple[Mapping[str, Any], ...]:
        """The published methods against the reference method."""
        return methods.ranges()

    @cached_property
    def own_tests(self) -> tuple[tuple[str, GroupEvidence, Agreement], ...]:
        """Title of a case, group and agreement with each method of the user's own pull tests."""
        files = sorted(Path(self.pull_tests).rglob("*.yaml")) if self.pull_tests else ()
        found = (study(case.load(file)) for file in files)
        return tuple(
            (each.case.title, group, agreement)
            for each in found
            if each.case.pull_tests
            for group in each.evidence.evidence.groups
            for agreement in group.agreement
        )

    @cached_property
    def counts(self) -> Mapping[str, Counter[str]]:
        """Outcomes by topic."""
        held: dict[str, tuple[printed.Check | printed.Held, ...]] = {"printed": self.checks}
        held |= self.statements
        return {topic: Counter(each.outcome for each in some) for topic, some in held.items()}

    @property
    def failed(self) -> int:
        """How many checks failed."""
        return sum(each["failed"] for each in self.counts.values())

    @property
    def total(self) -> int:
        """How many checks there are."""
        return sum(sum(each.values()) for each in self.counts.values())

    @property
    def statement(self) -> Fact:
        """Whether all checks passed."""
        values = {
            "total": count(self.total),
            "known": count(self.counts["printed"]["known difference"]),
        }
        if not self.failed:
            return fact("verification_passed", **values)
        many = "one" if self.failed == 1 else "several"
        return fact(f"verification_failed_{many}", "limit", failed=count(self.failed), **values)


def unconfirmed() -> Mapping[str, Counter[str]]:
    """Count the rows known from memory by the document that would settle them, and by table.

    The document that would settle most comes first.
    """
    found: dict[str, Counter[str]] = {}
    for file in sorted(_DATA.rglob("*.csv")):
        name = file.relative_to(_DATA).with_suffix("").as_posix()
        for row in tables.rows(f"{name}.csv") if name != "credibility" else ():
            if row["how_known"] in tables.UNCONFIRMED:
                found.setdefault(row["source"], Counter())[name] += 1
    return dict(sorted(found.items(), key=lambda item: -item[1].total()))


def data_digest() -> str:
    """Return one SHA-256 over all data files."""
    names = {
        file.relative_to(_DATA).as_posix(): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in _DATA.rglob("*")
        if file.is_file()
    }
    return hashlib.sha256(json.dumps(names, sort_keys=True).encode()).hexdigest()
