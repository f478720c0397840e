"""What a case file may say: every key, its meaning and its default.

attrs gives a frozen value object with the meaning of each key beside it. However a case is made,
from a file, in Python or from another case (`attrs.evolve`), it passes `understanding.settle`.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal, NewType

import attrs

from ..frames import brief

Text = NewType("Text", str)
Length = NewType("Length", float)
Force = NewType("Force", float)
Stress = NewType("Stress", float)
Temperature = NewType("Temperature", float)
Torque = NewType("Torque", float)
Factor = NewType("Factor", float)
Share = NewType("Share", float)

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
Regime = Literal["general", "aircraft", "pressure", "lifting", "vehicle-safety", "nuclear"]


def _key(help_: str, default: Any = attrs.NOTHING, *, group: str = "", example: str = "") -> Any:
    """Declare one key with what a person should know to fill it in."""
    metadata = {"help": help_, "group": group, "example": example}
    if default is attrs.NOTHING:
        return attrs.field(metadata=metadata)
    return attrs.field(default=default, metadata=metadata)


@attrs.frozen(kw_only=True)
class Case:
    """What the engineer wrote, understood: lengths in mm, forces in N, stresses in MPa."""

    # --- document
    title: Text = _key("what the report is called", Text(""), group="document")
    document: Text = _key("document number", Text(""))
    revision: Text = _key("revision of the document", Text(""))
    status: Status = _key("draft (watermarked) or final", "draft")
    date: Text = _key("date of the document", Text(""))
    prepared_by: Text = _key("name, or empty for a blank line to sign", Text(""))
    checked_by: Text = _key("name, or empty", Text(""))
    approved_by: Text = _key("name, or empty", Text(""))
    customer: Text = _key("customer who requested the repair", Text(""))
    item: Text = _key("the part that is repaired", Text(""))
    serials: Text = _key("serial numbers to which the report applies", Text(""))
    scope: Text = _key("what the report covers and what it does not", Text(""))
    damage: Text = _key("damage as found", Text(""))
    changes: Text = _key(
        "change record, one change a line: revision | date | what changed", Text("")
    )
    accept_negative_margin: Text = _key(
        "role | reason: who, by office, accepts that a margin is negative in a final report, and "
        "why; the report prints it",
        Text(""),
    )
    fatigue_statement: Text = _key(
        "document, with number or date, in which others state fatigue and fracture; a final report "
        "needs it where critical is yes",
        Text(""),
    )
    report_units: ReportUnits = _key("units of the report: SI, inch or both", "SI")

    # --- request to depart from the drawing, for the concession sheet
    request: Request = _key(
        "concession (after manufacture) or deviation (before manufacture)",
        "concession",
        group="request",
    )
    order: Text = _key("contract or order", Text(""))
    requirement: Text = _key("drawing and affected requirement", Text(""))
    classification: Classification = _key(
        "minor, major (performance, interchangeability) or critical (safety); open until it is "
        "classified",
        "open",
    )
    recurring: YesNo = _key("yes: the same damage occurred before", "no")
    corrective_action: Text = _key("action against recurrence", Text(""))

    # --- joint
    thread: str = _key("thread of the screw: M8x1.25, 1/4-20 UNC, 3/8 BSF, ...", group="joint")
    screw: str = _key("strength class or grade of the screw: 8.8, A2-70, ...")
    parent: str = _key(
        "the tapped material by its designation (6061-T6, ADC12, EN AC-46000, W.-Nr. 3.2315; see "
        "thread-repair list parents), or what is known of it: unknown-aluminium-casting, "
        "unknown-aluminium-wrought, unknown-magnesium, unknown-zinc, ..."
    )
    engagement: Length = _key("length of full thread in the original hole")
    insert_length: Length = _key("nominal length of the insert")
    hole_class: str = _key("tolerance class of the original hole", "")
    screw_class: str = _key("tolerance class of the screw thread", "")
    insert_hole_class: str = _key("tolerance class of the hole tapped for the insert", "")
    tolerance_position: TolerancePosition = _key(
        "position in the tolerance of every size, the same for both holes: minimum-material, mean,"
        " basic, or measured (then the measured_... keys)",
        "minimum-material",
    )
    measured_screw_major: Length | None = _key("measured major diameter of the screw", None)
    measured_screw_pitch: Length | None = _key("measured pitch diameter of the screw", None)
    measured_hole_minor: Length | None = _key("measured minor diameter, original hole", None)
    measured_hole_pitch: Length | None = _key("measured pitch diameter, original hole", None)
    measured_insert_hole_minor: Length | None = _key("measured minor diameter, insert hole", None)
    measured_insert_hole_pitch: Length | None = _key("measured pitch diameter, insert hole", None)

    # --- parent
    parent_name: Text = _key(
        "what the report calls the material, where it is not that of the table; the row of the "
        "table is named once as the basis",
        Text(""),
        group="parent",
    )
    parent_hardness: str = _key(
        "hardness measured on the part: HB 75, HV 90 or HRB 60; the tensile strength is estimated "
        "from it by the lowest published relation of the metal",
        "",
    )
    parent_shear_strength: Stress | None = _key(
        "ultimate shear strength to use instead of the table's", None
    )
    parent_tensile_strength: Stress | None = _key("tensile strength instead of the table's", None)
    parent_yield_strength: Stress | None = _key("yield strength instead of the table's", None)
    parent_source: Text = _key("document or test report of these values", Text(""))
    parent_strength_temperature: Temperature | None = _key(
        "temperature that these values hold for; empty: room temperature, and they fall with the "
        "temperature as the table's do",
        None,
    )
    parent_strength_basis: StrengthBasis | None = _key(
        "what these values are: minimum, mean, A, B, S or characteristic; a mean needs the two "
        "keys below and is lowered to what 95 % of all pieces exceed, with 95 % confidence",
        None,
    )
    parent_strength_pieces: int | None = _key("pieces tested for a mean, two or more", None)
    parent_strength_scatter: Share | None = _key(
        "standard deviation over mean of those pieces, such as 4 %", None
    )
    casting_factor: Factor = _key(
        "part of the strength of the separately cast bar that counts, above 0 and at most 1",
        Factor(1.0),
    )
    temperature: Temperature = _key(
        "highest temperature of the parent in service", Temperature(20.0)
    )
    temperature_min: Temperature | None = _key(
        "lowest temperature in service, for the preload; empty: not below that of assembly", None
    )
    temperature_exposure: Literal["long", "short"] = _key(
        "long: thousands of hours; short: a fire, at most two hours", "long"
    )
    environment: Text = _key("dry, damp, salt water, vacuum, ...", Text("dry"))

    # --- insert and hole
    insert_kind: InsertKind = _key("free-running or locking", "free-running", group="insert")
    insert_wire: str = _key(
        "wire material; see thread-repair list inserts; empty: the first suitable for the service",
        "",
    )
    insert_wire_strength: Stress | None = _key(
        "tensile strength of the drawn wire instead of the table's, or where no table has it", None
    )
    insert_wire_source: Text = _key("document or test report of that strength", Text(""))
    insert_finish: str = _key("finish of the wire; empty: chosen by finish_need", "")
    hole_condition: HoleCondition = _key(
        "the hole as found: stripped, worn, oversize, insert-pulled-out or cracked", "stripped"
    )
    damaged_diameter: Length | None = _key(
        "largest diameter at which metal is missing, as measured; empty: of a pulled-out insert "
        "the major diameter of its hole",
        None,
    )
    hole_kind: HoleKind = _key("through or blind", "through")
    hole_depth: Length | None = _key(
        "drilled depth of a blind insert hole below the face, present or permitted",
        None,
    )
    part_thickness: Length | None = _key("thickness of the part around a through hole", None)
    tap: Tap = _key("lead of the insert tap: plug or bottoming", "plug")
    screw_reach: Length | None = _key("length of screw thread beyond the joint face", None)
    set_down_rule: str = _key("rule for the set-down below the surface", "standard")
    no_go_rule: str = _key("rule for the entry of the NO-GO gauge", "")
    quantity: int = _key("holes to be repaired", 1)

    # --- workshop
    tap_style: str = _key(
        "required tap: spiral-flute, spiral-point, plug or finishing; empty: chosen by parent and "
        "hole",
        "",
        group="workshop",
    )
    fitting_tool: FittingTool = _key(
        "hand, hand-guided (with a guide sleeve) or powered", "hand-guided"
    )
    tool_set_down: Length | None = _key(
        "set-down of the fitting tool without shims, measured on a trial hole", None
    )
    shim_sizes: Text = _key(
        "thicknesses of the shims at hand, with commas between: 0.5 mm, 0.25 mm; empty: the depth "
        "is set by a stop",
        Text(""),
    )
    old_insert: YesNo = _key("yes: an old insert has to come out first", "no")
    magnetic: Magnetic = _key("any or non-magnetic, for the choice of the wire", "any")
    finish_need: FinishNeed = _key(
        "purpose of the finish: none, corrosion, friction or galling",
        "none",
    )
    critical: YesNo = _key("yes: the screw is a single load path or holds a control", "no")
    regime: Regime = _key(
        "field with its own approval: general, aircraft, pressure, lifting, vehicle-safety, "
        "nuclear",
        "general",
    )
    hazards: str = _key(
        "hazards of the part: beryllium, thorium, chromate, with commas between", ""
    )

    # --- surroundings
    boss_diameter: Length | None = _key(
        "outside diameter of the boss; empty for a thick parent", None, group="surroundings"
    )
    boss_support: BossSupport = _key("support of the boss: base, face or unknown", "unknown")
    edge_distance: Length | None = _key("hole centre to the nearest edge", None)

    # --- alternatives
    damaged_fraction: Factor | None = _key(
        "lost part of the original thread, 0.42 for 42 per cent", None, group="alternatives"
    )
    engagement_available: Length | None = _key(
        "full thread of the original hole available to a longer screw", None
    )
    bush_diameter_thin: Length | None = _key(
        "outside diameter of a thin-wall solid threaded insert", None
    )
    bush_diameter_heavy: Length | None = _key(
        "outside diameter of a heavy-duty solid threaded insert", None
    )

    # --- load and tightening
    design_load: Force | None = _key("axial limit load on the screw", None, group="load")
    load_factor: Factor = _key(
        "ultimate factor of safety on the limit load, from your code", Factor(1.0)
    )
    yield_factor: Factor = _key(
        "yield factor of safety on the limit load, from your code", Factor(1.0)
    )
    fitting_factor: Factor = _key(
        "further factor on the ultimate and the yield load, for a fitting not proven by "
        "test where your code asks for one; 1: none",
        Factor(1.0),
    )
    load_factor_source: Text = _key("document and clause of the factors", Text(""))
    preload: Force | None = _key("preload; give this or the torque", None)
    torque: Torque | None = _key(
        "tightening torque, without prevailing torque; give this or the preload", None
    )
    friction: str = _key(
        "friction of thread and head: a condition such as class-B or nasa-lubricated, a "
        "coefficient such as 0.12, or a range such as 0.10 to 0.16; needed with torque or preload",
        "",
    )
    insert_friction: str = _key(
        "friction in the thread of the fitted insert, written as friction is; empty: as friction",
        "",
    )
    prevailing_torque: Torque | None = _key(
        "maximum prevailing torque of a locking insert, where measured or where no table has the "
        "size",
        None,
    )
    bearing_diameter: Length | None = _key(
        "mean diameter of the bearing face under the head; empty: 1.3 D", None
    )
    tightening_tool: str = _key(
        "wrench-above-10, wrench-to-10, torque-wrench, impact, by-feel, ...; empty: a hand torque "
        "wrench",
        "",
    )
    load_share: Factor | None = _key(
        "load factor: part of the limit load that the screw takes on top of its preload, at most "
        "1; empty: not known, both bounds are taken",
        None,
    )
    separation_factor: Factor = _key(
        "separation factor of safety on the limit load, from your code", Factor(1.0)
    )
    clamped_material: str = _key(
        "parent id of the clamped part, or 'screw' where it expands as the screw does; empty: as "
        "the tapped parent",
        "",
    )

    # --- chance and evidence
    parent_scatter: Share | None = _key(
        "coefficient of variation of the parent's strength, such as 4 %; empty: the value "
        "commonly assumed",
        None,
        group="chance and evidence",
    )
    load_scatter: Share | None = _key(
        "coefficient of variation of the limit load; empty: a load that is never exceeded",
        None,
    )
    seed: int = _key("seed of the random numbers; the same seed gives the same report", 1)
    samples: int = _key("number of simulated joints", 16384)
    pull_tests: Text = _key(
        "table of pull tests (CSV), in the folder of the case file or below it: columns piece, "
        "state, size, engagement, peak_load, failure_mode and, where there is one, curve: a file "
        "beside it with the columns 'displacement [mm]' and 'load [kN]'",
        Text(""),
    )

    entered: Mapping[str, str] = attrs.field(factory=dict, eq=False, repr=False)
    #: Where the files that the case names stand; None for the current folder.
    folder: Path | None = attrs.field(default=None, eq=False, repr=False)

    __repr__ = brief

    def __attrs_post_init__(self) -> None:
        from .understanding import settle  # late: what a value means stands on these fields

        settle(self)

    @property
    def inputs_sha256(self) -> str:
        """Digest of what was entered, the same for every order and layout of the file."""
        text = json.dumps(dict(sorted(self.entered.items())), ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()


#: What decides most repairs, in the order in which an engineer asks: a form shows these first.
FIRST = (
    "thread", "screw", "parent", "hole_condition", "engagement", "insert_length", "insert_kind",
    "hole_kind", "hole_depth", "part_thickness", "screw_reach", "boss_diameter", "edge_distance",
    "design_load", "load_factor", "torque", "friction",
)  # fmt: skip


def keys() -> tuple[str, ...]:
    """Return every key a case file may have, in the order of the starter file."""
    return tuple(f.name for f in attrs.fields(Case) if "help" in f.metadata)


def sections() -> Mapping[str, tuple[str, ...]]:
    """Return every key once: those of `FIRST` under no heading, the others by their group."""
    found: dict[str, tuple[str, ...]] = {"": FIRST}
    group = ""
    for field in attrs.fields(Case):
        group = field.metadata.get("group") or group
        if "help" in field.metadata and field.name not in FIRST:
            found[group] = (*found.get(group, ()), field.name)
    return found
