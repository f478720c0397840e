"""The equations of the tolerance limits of test specimens, with the numbers of a record."""

from __future__ import annotations

import numpy as np
from scipy import special

from ..uncertainty.pull_tests.evidence import GroupEvidence
from ..uncertainty.pull_tests.tolerance import Bound
from ..units import plain
from .formulas import Equation, Line, Values
from .formulas import equations as of_subject


def equations(groups: tuple[GroupEvidence, ...], system: str) -> tuple[Equation, ...]:
    """Return the equations of a record: moments, tolerance factor, limit by each distribution."""
    lines: dict[str, list[Line]] = {}
    for each in groups:
        if not each.bounds:
            continue
        label = _label(each, groups, system)
        lines.setdefault("sample", []).append(Line(label=label, values=sample_values(each)))
        for bound in each.bounds:
            line = Line(label=f"{label}, {bound.claim}", values=_of_bound(each, bound))
            lines.setdefault(f"limit-{bound.method}", []).append(line)
    lines["tolerance-factor"] = lines.get("limit-normal", [])
    return of_subject("limits", lines)


def _label(each: GroupEvidence, groups: tuple[GroupEvidence, ...], system: str) -> str:
    group = each.group
    if sum(other.group.state == group.state for other in groups) == 1:
        return group.state
    length = plain(group.engagement, dimension="length", system=system)
    return f"{group.state}, {group.size}, {length}"


def sample_values(each: GroupEvidence) -> Values:
    """Return the numbers of a group that all its limits share."""
    load = np.asarray(each.group.load)
    logs = np.log(load)
    weibull = {fit.shape: fit for fit in each.fits}.get("weibull")
    return {
        "n_t": load.size, "F_m": float(load.mean()), "s_F": float(load.std(ddof=1)),
        "F_g": float(np.exp(logs.mean())), "s_l": float(logs.std(ddof=1)),
        "F_s1": float(load.min()),
        **({} if weibull is None else {"eta": weibull.location, "b_W": weibull.spread}),
    }  # fmt: skip


def _of_bound(each: GroupEvidence, bound: Bound) -> Values:
    return {
        **sample_values(each),
        "g_t": bound.confidence, "z_p": float(special.ndtri(bound.coverage)),
        "k_t": bound.factor, "w_t": bound.factor, "k_h": bound.factor,
        "F_sj": float(np.sort(each.group.load)[max(bound.rank, 1) - 1]),
        "F_tl": bound.value,
    }  # fmt: skip
