"""Do the test pieces agree with the prediction.

`read` a record, then `evidence` says what it shows; `update_shear_strength` and `margin_effect`
carry it into the evaluation, and the `pieces_...` functions plan the next test.
"""

from __future__ import annotations

from .comparison import Agreement, Comparison, compare, test_over_prediction
from .curves import Curve, read_curve
from .distributions import Fit, Scatter, fit, fits, scatter
from .evidence import Evidence, GroupEvidence, evidence
from .outliers import Outlier, critical_distance, farthest
from .planning import (
    Plan,
    cannot_show,
    pieces_for_bound,
    pieces_for_ratio,
    pieces_without_failure,
)
from .reading import read
from .records import Group, PullTests
from .tolerance import (
    CLAIMS,
    Bound,
    bounds,
    distribution_free_bound,
    hanson_koopmans_bound,
    k_factor,
    lognormal_bound,
    normal_bound,
    order_statistic_bound,
    weibull_bound,
)
from .update import (
    Lognormal,
    MarginEffect,
    ShearStrengthUpdate,
    margin_effect,
    update_shear_strength,
)

__all__ = [
    "CLAIMS",
    "Agreement",
    "Bound",
    "Comparison",
    "Curve",
    "Evidence",
    "Fit",
    "Group",
    "GroupEvidence",
    "Lognormal",
    "MarginEffect",
    "Outlier",
    "Plan",
    "PullTests",
    "Scatter",
    "ShearStrengthUpdate",
    "bounds",
    "cannot_show",
    "compare",
    "critical_distance",
    "distribution_free_bound",
    "evidence",
    "farthest",
    "fit",
    "fits",
    "hanson_koopmans_bound",
    "k_factor",
    "lognormal_bound",
    "margin_effect",
    "normal_bound",
    "order_statistic_bound",
    "pieces_for_bound",
    "pieces_for_ratio",
    "pieces_without_failure",
    "read",
    "read_curve",
    "scatter",
    "test_over_prediction",
    "update_shear_strength",
    "weibull_bound",
]
