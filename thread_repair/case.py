"""The input of one report: schema, YAML, defaults, messages.

attrs gives a frozen value object with the meaning of every key beside it; cattrs structures the
flat file into it and, unlike a chain of constructors, goes on after the first fault, so that one
reading reports them all. Neither is imported by the calculation.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal, NewType, get_args

import attrs
import cattrs
import yaml

from . import inserts, materials, threads
from .errors import InputError, InputErrors, unknown
from .units import parse

Text = NewType("Text", str)
Length = NewType("Length", float)
Force = NewType("Force", float)
Stress = NewType("Stress", float)
Temperature = NewType("Temperature", float)
Torque = NewType("Torque", float)
Factor = NewType("Factor", float)

HoleKind = Literal["through", "blind"]
InsertKind = Literal["free-running", "locking"]
BossSupport = Literal["base", "face", "unknown"]
TolerancePosition = Literal["minimum-material", "mean", "basic", "measured"]
Status = Literal["draft", "final"]
Tap = Literal["plug", "bottoming"]
ReportUnits = Literal["SI", "inch", "both"]

_DIMENSION = {
    Length: "length",
    Force: "force",
    Stress: "stress",
    Temperature: "temperature",
    Torque: "torque",
}
#: No text of a real case is longer; a longer one is a mistake or an attack.
_LONGEST_TEXT = 4000
_LONGEST_FILE = 100_000


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
    customer: Text = _key("who asked", Text(""))
    item: Text = _key("the part that is repaired", Text(""))
    serials: Text = _key("serial numbers to which the report applies", Text(""))
    scope: Text = _key("what is decided, and what is not", Text(""))
    damage: Text = _key("damage as found", Text(""))
    report_units: ReportUnits = _key("SI, inch or both", "SI")

    # --- joint
    thread: str = _key("M8x1.25, 1/4-20 UNC, 3/8 BSF", group="joint")
    screw: str = _key("strength class or grade of the screw: 8.8, A2-70, ...")
    parent: str = _key("the tapped material; see thread-repair list parents")
    engagement: Length = _key("length of full thread in the original hole")
    insert_length: Length = _key("nominal length of the insert")
    hole_class: str = _key("tolerance class of the original hole", "")
    screw_class: str = _key("tolerance class of the screw thread", "")
    insert_hole_class: str = _key("tolerance class of the hole tapped for the insert", "")
    tolerance_position: TolerancePosition = _key(
        "where in its tolerance every size is taken, for both holes alike: minimum-material, mean,"
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
    parent_shear_strength: Stress | None = _key(
        "ultimate shear strength to use instead of the table's", None, group="parent"
    )
    parent_tensile_strength: Stress | None = _key("tensile strength instead of the table's", None)
    parent_source: Text = _key("document or test report of these values", Text(""))
    casting_factor: Factor = _key("what of the separately cast bar's strength counts", Factor(1.0))
    temperature: Temperature = _key("temperature of the parent in service", Temperature(20.0))
    temperature_exposure: Literal["long", "short"] = _key(
        "long: thousands of hours; short: a fire, at most two hours", "long"
    )
    environment: Text = _key("dry, damp, salt water, vacuum, ...", Text("dry"))

    # --- insert and hole
    insert_kind: InsertKind = _key("free-running or locking", "free-running", group="insert")
    insert_wire: str = _key("wire material; see thread-repair list inserts", "")
    insert_finish: str = _key("finish of the wire", "plain")
    hole_kind: HoleKind = _key("through or blind", "through")
    hole_depth: Length | None = _key("drilled depth of the insert hole below the face", None)
    tap: Tap = _key("lead of the insert tap: plug or bottoming", "plug")
    screw_reach: Length | None = _key("length of screw thread past the joint face", None)
    set_down_rule: str = _key("which rule sets the insert below the surface", "standard")
    no_go_rule: str = _key("which rule limits the entry of the NO-GO gauge", "")
    quantity: int = _key("holes to be repaired, for the choice of tools", 1)

    # --- surroundings
    boss_diameter: Length | None = _key(
        "outside diameter of the boss; empty for a thick parent", None, group="surroundings"
    )
    boss_support: BossSupport = _key("where the boss is held: base, face or unknown", "unknown")
    edge_distance: Length | None = _key("hole centre to the nearest edge", None)

    # --- load and tightening
    design_load: Force | None = _key("axial load on the screw, limit load", None, group="load")
    load_factor: Factor = _key("factor on the load against rupture, from your code", Factor(1.0))
    yield_factor: Factor = _key("factor on the load against yield, from your code", Factor(1.0))
    load_factor_source: Text = _key("document and clause of the factors", Text(""))
    preload: Force | None = _key("preload; give this or the torque", None)
    torque: Torque | None = _key("tightening torque; give this or the preload", None)
    friction: str = _key("friction condition of thread and head", "")

    entered: Mapping[str, str] = attrs.field(factory=dict, eq=False, repr=False)

    @property
    def inputs_sha256(self) -> str:
        """Digest of what was entered, the same for every order and layout of the file."""
        text = json.dumps(dict(sorted(self.entered.items())), ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()


def keys() -> tuple[str, ...]:
    """Return every key a case file may have, in the order of the starter file."""
    return tuple(f.name for f in attrs.fields(Case) if f.name != "entered")


def load(path: str | Path) -> Case:
    """Read a case file.

    Raises
    ------
    InputError
        If the file is missing or is not flat YAML.
    InputErrors
        With one sentence for each fault of the content.
    """
    return read(load_text(path))


def load_text(path: str | Path) -> Mapping[str, str]:
    """Read a case file as key and text, without understanding the values."""
    file = Path(path)
    try:
        if file.is_dir():
            file = file / "case.yaml"
        if file.stat().st_size > _LONGEST_FILE:
            raise InputError(f"{file}: larger than {_LONGEST_FILE} bytes, not a case file")
        text = file.read_text("utf-8")
    except OSError as error:
        raise InputError(f"case {str(path)!r} cannot be read: {error.strerror}") from None
    except UnicodeDecodeError:
        raise InputError(f"{file}: not UTF-8 text") from None
    return _flat(text, file)


class _TextLoader(yaml.BaseLoader):
    """YAML in which every scalar stays text (10.9 stays "10.9") and aliases are refused."""

    def compose_node(self, parent: Any, index: Any) -> Any:
        if self.check_event(yaml.AliasEvent):
            raise yaml.YAMLError("anchors and aliases are not used in a case file")
        return super().compose_node(parent, index)


def _flat(text: str, file: Path) -> Mapping[str, str]:
    try:
        loader = _TextLoader(text)
        try:
            node = loader.get_single_node()
            pairs = [] if node is None else _pairs(node, file)
        finally:
            loader.dispose()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        line = f" line {mark.line + 1}" if mark else ""
        raise InputError(f"{file}:{line} is not YAML: {error.problem}") from None
    except (yaml.YAMLError, RecursionError) as error:
        raise InputError(f"{file}: is not a case file: {error}") from None
    repeated = sorted({key for key, _ in pairs if [k for k, _ in pairs].count(key) > 1})
    if repeated:
        raise InputErrors(f"key {key!r} is given more than once" for key in repeated)
    return dict(pairs)


def _pairs(node: yaml.Node, file: Path) -> list[tuple[str, str]]:
    if not isinstance(node, yaml.MappingNode):
        raise InputError(f"{file}: expected lines 'key: value'")
    pairs = []
    for key, value in node.value:
        if not (isinstance(key, yaml.ScalarNode) and isinstance(value, yaml.ScalarNode)):
            raise InputError(f"{file}: line {key.start_mark.line + 1}: expected 'key: value' on "
                             "one level, without lists or nested keys")
        pairs.append((key.value, value.value))
    return pairs


def from_namespace(names: Mapping[str, object]) -> Case:
    """Understand the parameters of a notebook: the known keys among its variables."""
    return read({key: names[key] for key in keys() if key in names})


def read(entered: Mapping[str, object]) -> Case:
    """Understand a flat mapping of keys; empty values count as not given.

    Raises
    ------
    InputErrors
        With one sentence for each fault.
    """
    given = {str(key): _as_text(value) for key, value in entered.items()}
    given = {key: value for key, value in given.items() if value.strip() not in ("", "~", "null")}
    faults = [str(unknown("key", key[:80], keys())) for key in given if key not in keys()]
    known = {key: value for key, value in given.items() if key in keys()}
    diameter = None
    if "thread" in known:
        try:
            diameter = threads.thread(known["thread"]).major
        except InputError:
            diameter = 1.0  # the thread's own fault is reported; lengths in D are still read
    try:
        case: Case = _converter(diameter).structure({**known, "entered": given}, Case)
    except cattrs.ClassValidationError as group:
        raise InputErrors([*faults, *_sentences(group)]) from None
    faults += _contradictions(case)
    if faults:
        raise InputErrors(faults)
    return case


def _as_text(value: object) -> str:
    """Write a typed parameter (papermill turns 8.8 into a float) as it stood in the file."""
    if value is None:
        return ""
    if isinstance(value, (bool, Mapping, list, tuple, bytes)):
        return f"{value!r}"
    return str(value)


def _converter(diameter: float | None) -> cattrs.Converter:
    """Build the reader; 1 D means the given diameter."""
    converter = cattrs.Converter(detailed_validation=True)
    for kind, dimension in _DIMENSION.items():
        converter.register_structure_hook_func(
            lambda t, kind=kind: t is kind or t == kind | None,
            lambda value, _, dimension=dimension: parse(value, dimension, diameter=diameter),
        )
    converter.register_structure_hook_func(lambda t: t is Factor, lambda v, _: _factor(v))
    converter.register_structure_hook_func(lambda t: t is Text, lambda v, _: _text(v))
    converter.register_structure_hook_func(lambda t: t is int, lambda v, _: _count(v))
    converter.register_structure_hook_func(
        lambda t: getattr(t, "__origin__", None) is Literal, lambda v, t: _word(v, get_args(t))
    )
    return converter


def _factor(value: str) -> float:
    try:
        number = float(value)
    except ValueError:
        number = math.nan
    if not (0 < number < math.inf):
        raise InputError(f"{value[:60]!r} is not a factor; expected a number above zero, such as 1.4")
    return number


def _count(value: str) -> int:
    if not value.isdecimal() or not 0 < int(value[:9]) or len(value) > 9:
        raise InputError(f"{value[:60]!r} is not a count; expected a whole number from 1")
    return int(value)


def _text(value: str) -> str:
    if len(value) > _LONGEST_TEXT:
        raise InputError(f"the text has {len(value)} characters; at most {_LONGEST_TEXT} fit")
    return value.strip()


def _word(value: str, choices: tuple[str, ...]) -> str:
    folded = {choice.casefold(): choice for choice in choices}
    word = value.strip().casefold().replace("_", "-").replace(" ", "-")
    if word not in folded:
        hint = unknown("", value[:60], choices).args[0].partition("; ")[2]
        raise InputError(f"{value[:60]!r} is not one of {', '.join(choices)}"
                         + (f"; {hint}" if hint else ""))
    return folded[word]


def _sentences(group: cattrs.ClassValidationError) -> Iterator[str]:
    """Turn the collected exceptions of cattrs into sentences that begin with the key."""
    with_note, without = group.group_exceptions()
    for error, note in with_note:
        if isinstance(error, KeyError):
            yield f"{note.name}: missing; expected {_help(note.name)}"
        else:
            yield f"{note.name}: {error}"
    for error in without:
        if isinstance(error, KeyError):
            name = str(error.args[0])
            yield f"{name}: missing; expected {_help(name)}"
        else:
            yield str(error)


def _help(name: str) -> str:
    return str(attrs.fields_dict(Case)[name].metadata["help"])


def _contradictions(case: Case) -> list[str]:
    """Return a sentence for each value that cannot be, alone or beside another."""
    faults = list(_unknown_names(case))
    for name in _LENGTHS_ABOVE_ZERO:
        value = getattr(case, name)
        if value is not None and value <= 0:
            faults.append(f"{name}: {case.entered[name]!r} must be above zero")
    if not 0 < case.casting_factor <= 1:
        faults.append(f"casting_factor: {case.casting_factor:g} must be above 0 and at most 1")
    if case.preload is not None and case.torque is not None:
        faults.append("preload: given together with torque; give one of them")
    for name in ("parent_shear_strength", "parent_tensile_strength"):
        if getattr(case, name) is not None and not case.parent_source:
            faults.append(f"{name}: given without parent_source; name the document or test report")
    if case.tolerance_position == "measured":
        missing = [name for name in _MEASURED if getattr(case, name) is None]
        faults += [f"{name}: missing; tolerance_position is measured" for name in missing]
    if not faults:
        faults += _misfits(case, threads.thread(case.thread))
    return faults


_LENGTHS_ABOVE_ZERO = (
    "engagement",
    "insert_length",
    "hole_depth",
    "screw_reach",
    "boss_diameter",
    "edge_distance",
    "design_load",
    "preload",
    "torque",
    "parent_shear_strength",
    "parent_tensile_strength",
    "measured_screw_major",
    "measured_screw_pitch",
    "measured_hole_minor",
    "measured_hole_pitch",
    "measured_insert_hole_minor",
    "measured_insert_hole_pitch",
)
_MEASURED = tuple(name for name in _LENGTHS_ABOVE_ZERO if name.startswith("measured_"))
#: No tapped joint engages more than this; a longer entry is a slip of the unit.
_MOST_DIAMETERS = 10


def _misfits(case: Case, thread: threads.Thread) -> Iterator[str]:
    """Yield a sentence for each size that does not fit the others."""
    for name in ("engagement", "insert_length"):
        if getattr(case, name) > _MOST_DIAMETERS * thread.major:
            yield (f"{name}: {case.entered[name]!r} is {getattr(case, name) / thread.major:.3g} D; "
                   f"expected at most {_MOST_DIAMETERS} D")
    outside = inserts.insert_hole(thread, case.resolved_insert_hole_class).major_min
    if case.boss_diameter is not None and case.boss_diameter <= outside:
        yield (f"boss_diameter: {case.entered['boss_diameter']!r} leaves no wall around the insert "
               f"hole; expected more than {outside:.2f} mm")
    if case.edge_distance is not None and case.edge_distance <= outside / 2:
        yield (f"edge_distance: {case.entered['edge_distance']!r} from the hole centre leaves no "
               f"wall; expected more than {outside / 2:.2f} mm")
    if case.hole_kind == "blind":
        yield from _shallow(case, thread)


def _shallow(case: Case, thread: threads.Thread) -> Iterator[str]:
    """Refuse a blind hole that no tap can finish for this insert."""
    if case.hole_depth is None:
        yield "hole_depth: missing; a blind hole needs its drilled depth"
        return
    depths = {tap: inserts.drill_depth(thread, case.insert_length, tap=tap)
              for tap in get_args(Tap)}
    if case.hole_depth < min(depths.values()):
        yield (f"hole_depth: {case.entered['hole_depth']!r} is too shallow for an insert of "
               f"{case.insert_length:g} mm; expected at least {depths['bottoming']:g} mm drilled "
               f"(bottoming tap) or {depths['plug']:g} mm (plug tap), or a shorter insert")
    elif case.hole_depth < depths[case.tap]:
        yield (f"tap: a {case.tap} tap needs {depths[case.tap]:g} mm drilled, hole_depth is "
               f"{case.entered['hole_depth']!r}; use tap: bottoming "
               f"({depths['bottoming']:g} mm) or a shorter insert")


def _unknown_names(case: Case) -> Iterator[str]:
    """Yield a sentence for each name that no table knows."""

    def attempt(name: str, look_up: Any) -> Iterator[str]:
        try:
            look_up()
        except InputError as error:
            yield f"{name}: {error}"

    yield from attempt("parent", lambda: materials.parent(case.parent))
    if case.insert_wire:
        yield from attempt("insert_wire", lambda: materials.wire(case.insert_wire))
    yield from attempt("insert_finish", lambda: materials.finish(case.insert_finish))
    try:
        thread = threads.thread(case.thread)
    except InputError as error:
        yield f"thread: {error}"
        return
    yield from attempt("screw", lambda: materials.screw(case.screw, thread.major))
    if case.hole_class:
        yield from attempt("hole_class", lambda: threads.internal_limits(thread, case.hole_class))
    if case.screw_class:
        yield from attempt("screw_class", lambda: threads.external_limits(thread, case.screw_class))
    if case.insert_hole_class:
        yield from attempt(
            "insert_hole_class", lambda: inserts.insert_hole(thread, case.insert_hole_class)
        )
