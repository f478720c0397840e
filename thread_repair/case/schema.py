"""What a case file may say: every key, its meaning and its default.

attrs gives a frozen value object with the meaning of each key beside it. However a case is made,
from a file, in Python or from another case (`attrs.evolve`), it passes `understanding.settle`.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any, Literal, Self, TypeAlias, get_args

import attrs

from .. import files
from ..errors import InputError
from ..frames import brief
from ..units import DIMENSIONS

Text: TypeAlias = str
Length: TypeAlias = float
Force: TypeAlias = float
Stress: TypeAlias = float
Temperature: TypeAlias = float
Torque: TypeAlias = float
Factor: TypeAlias = float
Share: TypeAlias = float
HoleKind = Literal["through", "blind"]
InsertKind = Literal["free-running", "locking"]
BossSupport = Literal["base", "face", "unknown"]
HoleCondition = Literal["stripped", "worn", "oversize", "insert-pulled-out", "cracked"]
TolerancePosition = Literal["minimum-material", "mean", "basic", "measured"]
Status = Literal["draft", "final"]
Tap = Literal["plug", "bottoming"]
ReportUnits = Literal["SI", "inch", "both"]
StrengthBasis = Literal["minimum", "mean", "A", "B", "S", "characteristic"]
YesNo = Literal["yes", "no"]
Request = Literal["concession", "deviation"]
Classification = Literal["open", "minor", "major", "critical"]
Magnetic = Literal["any", "non-magnetic"]
FinishNeed = Literal["none", "corrosion", "friction", "galling"]
FittingTool = Literal["hand", "hand-guided", "powered"]
Exposure = Literal["long", "short"]
Regime = Literal["general", "aircraft", "pressure", "lifting", "vehicle-safety", "nuclear"]


def _described(_: type, fields: list[Any]) -> list[Any]:
    """Put beside each key what a person should know, its group and its kind.

    The kind is the name of its type; a kind of several words has these as `choices`.
    """
    told = {}
    kinds = {each.name: each.type.removesuffix(" | None") for each in fields}
    for group, helps in files.data("keys.toml").items():
        for name, help_ in helps.items():
            told[name] = {
                "help": help_,
                "group": group,
                "kind": kinds[name],
                "dimension": of if (of := kinds[name].casefold()) in DIMENSIONS else "",
                "choices": get_args(globals().get(kinds[name])),
            }
    return [each.evolve(metadata=told.get(each.name, {})) for each in fields]


@attrs.frozen(kw_only=True, field_transformer=_described)
class Case:
    """What the engineer wrote, understood: lengths in mm, forces in N, stresses in MPa."""

    # --- document
    title: Text = ""
    document: Text = ""
    revision: Text = ""
    status: Status = "draft"
    date: Text = ""
    prepared_by: Text = ""
    checked_by: Text = ""
    approved_by: Text = ""
    customer: Text = ""
    item: Text = ""
    serials: Text = ""
    scope: Text = ""
    damage: Text = ""
    changes: Text = ""
    accept_negative_margin: Text = ""
    fatigue_statement: Text = ""
    assumed: Text = ""
    report_units: ReportUnits = "SI"

    # --- request to depart from the drawing, for the concession sheet
    request: Request = "concession"
    order: Text = ""
    requirement: Text = ""
    classification: Classification = "open"
    recurring: YesNo = "no"
    corrective_action: Text = ""

    # --- joint
    thread: str
    screw: str
    parent: str
    engagement: Length
    insert_length: Length
    hole_class: str = ""
    screw_class: str = ""
    insert_hole_class: str = ""
    tolerance_position: TolerancePosition = "minimum-material"
    measured_screw_major: Length | None = None
    measured_screw_pitch: Length | None = None
    measured_hole_minor: Length | None = None
    measured_hole_pitch: Length | None = None
    measured_insert_hole_minor: Length | None = None
    measured_insert_hole_pitch: Length | None = None

    # --- parent
    parent_name: Text = ""
    parent_hardness: str = ""
    parent_shear_strength: Stress | None = None
    parent_tensile_strength: Stress | None = None
    parent_yield_strength: Stress | None = None
    parent_source: Text = ""
    parent_strength_temperature: Temperature | None = None
    parent_strength_basis: StrengthBasis | None = None
    parent_strength_pieces: int | None = None
    parent_strength_scatter: Share | None = None
    casting_factor: Factor = 1.0
    temperature: Temperature = 20.0
    temperature_min: Temperature | None = None
    temperature_exposure: Exposure = "long"
    environment: Text = "dry"

    # --- insert and hole
    insert_kind: InsertKind = "free-running"
    insert_wire: str = ""
    insert_wire_strength: Stress | None = None
    insert_wire_source: Text = ""
    insert_finish: str = ""
    hole_condition: HoleCondition = "stripped"
    damaged_diameter: Length | None = None
    hole_kind: HoleKind = "through"
    hole_depth: Length | None = None
    part_thickness: Length | None = None
    tap: Tap = "plug"
    screw_reach: Length | None = None
    set_down_rule: str = "standard"
    no_go_rule: str = ""
    quantity: int = 1

    # --- workshop
    tap_style: str = ""
    fitting_tool: FittingTool = "hand-guided"
    tool_set_down: Length | None = None
    shim_sizes: Text = ""
    old_insert: YesNo = "no"
    magnetic: Magnetic = "any"
    finish_need: FinishNeed = "none"
    critical: YesNo = "no"
    regime: Regime = "general"
    hazards: str = ""

    # --- surroundings
    boss_diameter: Length | None = None
    boss_support: BossSupport = "unknown"
    edge_distance: Length | None = None

    # --- alternatives
    damaged_fraction: Factor | None = None
    engagement_available: Length | None = None
    bush_diameter_thin: Length | None = None
    bush_diameter_heavy: Length | None = None

    # --- load and tightening
    design_load: Force | None = None
    load_factor: Factor = 1.0
    yield_factor: Factor = 1.0
    fitting_factor: Factor = 1.0
    load_factor_source: Text = ""
    preload: Force | None = None
    torque: Torque | None = None
    friction: str = ""
    insert_friction: str = ""
    prevailing_torque: Torque | None = None
    bearing_diameter: Length | None = None
    tightening_tool: str = ""
    load_share: Factor | None = None
    separation_factor: Factor = 1.0
    clamped_material: str = ""

    # --- chance and evidence
    parent_scatter: Share | None = None
    load_scatter: Share | None = None
    seed: int = 1
    samples: int = 16384
    pull_tests: Text = ""

    entered: Mapping[str, str] = attrs.field(factory=dict, eq=False, repr=False)
    #: Where the files that the case names stand; None for the current folder.
    folder: Path | None = attrs.field(default=None, eq=False, repr=False)

    __repr__ = brief

    def __new__(cls, *others: object, **given: object) -> Self:
        """Refuse keys that are none or missing as `read` does, in its sentences."""
        if others or not NEEDED <= given.keys() <= _FIELDS:
            from .reading import read

            read(others or given)  # type: ignore[arg-type]
        return super().__new__(cls)

    def __attrs_post_init__(self) -> None:
        from .understanding import settle  # late: what a value means stands on these fields

        settle(self)

    def __reduce__(self) -> tuple[object, ...]:
        """Read again what was entered: so a case goes to another process, or is copied."""
        given: Mapping[str, Any] = {**self.entered, "folder": self.folder}
        return partial(Case, **given), ()

    @property
    def keys_assumed(self) -> tuple[str, ...]:
        """Keys whose values nobody stated, as `assumed` lists them."""
        return tuple(each for part in self.assumed.split(",") if (each := part.strip()))

    @property
    def inputs_sha256(self) -> str:
        """Digest of what was entered, the same for every order and layout of the file."""
        text = json.dumps(dict(sorted(self.entered.items())), ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()


_FIELDS = {each.name for each in attrs.fields(Case)}
#: Keys without a default.
NEEDED = {each.name for each in attrs.fields(Case) if each.default is attrs.NOTHING}
#: What is said of each key: its help, group, kind and default.
KEYS: Mapping[str, attrs.Attribute[Any]] = {
    each.name: each for each in attrs.fields(Case) if each.metadata
}
#: What decides most repairs, in the order in which an engineer asks: a form shows these first.
FIRST: tuple[str, ...] = tuple(files.data("starter.toml")["first"])


def checked(case: Case) -> Case:
    """Return a case; InputError says what makes one of anything else."""
    if not isinstance(case, Case):
        raise InputError.of("expected_case", case=case)
    return case


def keys() -> tuple[str, ...]:
    """Return every key a case file may have, in the order of the starter file."""
    return tuple(KEYS)


def sections() -> Mapping[str, tuple[str, ...]]:
    """Return every key once: those of `FIRST` under no heading, the others by their group."""
    found: dict[str, tuple[str, ...]] = {"": FIRST}
    for name, field in KEYS.items():
        if name not in FIRST:
            group = field.metadata["group"]
            found[group] = (*found.get(group, ()), name)
    return found
