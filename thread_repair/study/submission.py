"""A part with many holes, studied: every different joint once; one conclusion for all."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import attrs

from ..case import Case
from ..case.part_file import DOCUMENT, PART, Hole, by_hole, listed, understand
from ..case.schema import Text, keys
from ..errors import InputError, ThreadRepairError, refuse
from ..facts import Fact, Value, count, fact
from .conclusion import CONCLUSIONS
from .criteria import Criterion
from .record import Study

#: Keys that bear on no number: holes that differ in them alone are one joint.
_WORDS = frozenset(
    (*DOCUMENT, "serials", "scope", "damage", "request", "order", "requirement", "classification",
     "recurring", "corrective_action", "quantity")
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class StudiedHole(Hole):
    """One hole with the study of its joint: the same object for every hole that has this joint."""

    study: Study

    @property
    def conclusion(self) -> str:
        """One of `CONCLUSIONS`."""
        return self.study.conclusion.id

    @property
    def margin(self) -> Criterion | None:
        """The criterion with the minimum margin of safety; None where no load is stated."""
        return self.study.minimum_margin


@dataclass(frozen=True)
class Submission:
    """The holes of a part, studied; `stated` are the serial numbers of the part."""

    stated: tuple[str, ...]
    holes: tuple[StudiedHole, ...]

    @property
    def case(self) -> Case:
        """The case whose words of the document are those of all."""
        return self.holes[0].case

    @property
    def serials(self) -> tuple[str, ...]:
        """Every serial number; one empty name where none is stated."""
        stated = (*self.stated, *(each for hole in self.holes for each in hole.serials))
        return tuple(dict.fromkeys(stated)) or ("",)

    @cached_property
    def joints(self) -> Mapping[str, tuple[StudiedHole, ...]]:
        """The holes of each different joint, by the label of the first."""
        found: dict[int, list[StudiedHole]] = {}
        for hole in self.holes:
            found.setdefault(id(hole.study), []).append(hole)
        return {holes[0].label: tuple(holes) for holes in found.values()}

    @property
    def studies(self) -> tuple[Study, ...]:
        """The study of each different joint."""
        return tuple(holes[0].study for holes in self.joints.values())

    @cached_property
    def matrix(self) -> Mapping[tuple[str, str], StudiedHole]:
        """What is concluded, by name of the hole and serial number."""
        return {(hole.name, each): hole for hole in self.holes for each in hole.serials or ("",)}

    @property
    def conclusion(self) -> str:
        """The worst of all conclusions."""
        return max((each.conclusion for each in self.holes), key=CONCLUSIONS.index)

    @property
    def statement(self) -> Fact:
        """The conclusion of all."""
        where = tuple(each.label for each in self.holes if each.conclusion == self.conclusion)
        values: dict[str, Value] = {
            "repairs": count(len(self.matrix)),
            "holes": where,
            "count": count(len(where)),
        }
        if len(where) == len(self.holes):
            form = "all" if len(self.matrix) > 1 else "one"
        else:
            form = "some" if len(where) > 1 else "some_one"
        level = "limit" if self.conclusion == "does_not_support" else "info"
        return fact(f"submission_{self.conclusion}_{form}", level, **values)

    @property
    def lowest(self) -> StudiedHole | None:
        """Where the margin of safety is the minimum of all; None where no load is stated."""
        known = [each for each in self.holes if each.margin is not None]
        return min(known, key=lambda each: each.margin.repaired.value, default=None)  # type: ignore[union-attr]

    @property
    def not_met(self) -> tuple[tuple[tuple[StudiedHole, ...], int, Criterion], ...]:
        """Holes, number and criterion wherever one is not met, or not assessed."""
        return tuple(
            (holes, number, each)
            for holes in self.joints.values()
            for number, each in enumerate(holes[0].study.criteria, start=1)
            if each.refuses or each.is_condition
        )


def submission(
    shared: Mapping[str, object],
    holes: Sequence[Mapping[str, object]],
    *,
    names: Mapping[str, object] | None = None,
) -> Submission:
    """Study the holes of a part.

    Parameters
    ----------
    shared : keys of a case that hold for every hole, those of the document among them
    holes : for each hole its `name` and own keys, `serials` where it is not on all parts
    names : the variables of a notebook, such as `globals()`
        A key of a case among them holds for nothing here, and is refused.

    Returns
    -------
    Submission

    Raises
    ------
    InputErrors
        With one sentence for each fault, naming hole and key.
    """
    known, values = (*keys(), PART), (names or {}).items()
    if beside := [k for k, value in values if k in known and isinstance(value, (str, int, float))]:
        raise InputError.of("beside_a_part", beside=", ".join(beside))
    serials, understood = understand(shared, holes)
    alike: dict[tuple[tuple[str, str], ...], list[Hole]] = {}
    for hole in understood:
        entered = sorted((k, v) for k, v in hole.case.entered.items() if k not in _WORDS)
        alike.setdefault(tuple(entered), []).append(hole)
    studies: dict[str, Study] = {}
    faults: dict[str, list[str]] = {}
    for some in alike.values():
        study, where = Study(_joint(some)), [each.label for each in some]
        try:
            study.conclusion  # noqa: B018  # what cannot be judged is told here, with its hole
        except ThreadRepairError as error:
            for fault in str(error).splitlines():
                faults.setdefault(fault, []).extend(where)
        studies |= dict.fromkeys(where, study)
    refuse(by_hole(faults, len(studies)))
    return Submission(
        stated=serials,
        holes=tuple(StudiedHole(**vars(each), study=studies[each.label]) for each in understood),
    )


def _joint(holes: Sequence[Hole]) -> Case:
    """Return the case that stands for equal holes: with the serial numbers and count of all."""
    first = holes[0].case
    serials = dict.fromkeys(serial for hole in holes for serial in hole.serials)
    quantity = sum(
        hole.case.quantity if "quantity" in hole.case.entered else max(1, len(hole.serials))
        for hole in holes
    )
    return attrs.evolve(first, serials=Text(listed(serials)), quantity=quantity)


def labels(holes: Iterable[StudiedHole]) -> str:
    """Name several holes.

    Parameters
    ----------
    holes : iterable of StudiedHole

    Returns
    -------
    str

    Examples
    --------
    >>> labels([])
    ''
    """
    return ", ".join(each.label for each in holes)
