"""Five unlike joints and five more, as changes of the demonstration; all invented."""

import re
from pathlib import Path

import yaml

DEMO = Path(__file__).parents[2] / "reports" / "demo-rig-plate" / "case.yaml"

FIVE = {
    "demonstration, both systems": {"report_units": "both"},
    "inch thread, locking insert, no boss": {
        "report_units": "inch",
        "thread": "3/8-16 UNC",
        "screw": "grade-8",
        "hole_class": "2B",
        "screw_class": "2A",
        "insert_hole_class": "2B",
        "insert_kind": "locking",
        "engagement": "0.5 in",
        "insert_length": "1.5 D",
        "hole_depth": "1 in",
        "screw_reach": "0.8 in",
        "boss_diameter": "",
        "edge_distance": "1 in",
        "design_load": "2000 lbf",
        "torque": "20 ft·lbf",
        "bush_diameter_thin": "",
        "bush_diameter_heavy": "",
        "engagement_available": "0.8 in",
    },
    "thin boss held on its face, strong screw, share not known": {
        "report_units": "SI",
        "boss_diameter": "15 mm",
        "boss_support": "face",
        "edge_distance": "",
        "screw": "12.9",
        "load_share": "",
        "design_load": "6 kN",
    },
    "hot, mean strength supplied, preload stated": {
        "report_units": "SI",
        "temperature": "120 degC",
        "temperature_min": "-30 degC",
        "parent_shear_strength": "200 MPa",
        "parent_tensile_strength": "310 MPa",
        "parent_yield_strength": "260 MPa",
        "parent_source": "test report 7 (invented)",
        "parent_strength_basis": "mean",
        "parent_strength_pieces": "12",
        "parent_strength_scatter": "4 %",
        "torque": "",
        "preload": "11 kN",
        "boss_diameter": "",
        "insert_wire": "",
    },
    "measured sizes, worn hole": {
        "report_units": "both",
        "tolerance_position": "measured",
        "measured_screw_major": "7.80 mm",
        "measured_screw_pitch": "7.06 mm",
        "measured_hole_minor": "7.25 mm",
        "measured_hole_pitch": "7.45 mm",
        "measured_insert_hole_minor": "8.9 mm",
        "measured_insert_hole_pitch": "9.05 mm",
        "torque": "",
        "friction": "",
        "tightening_tool": "",
        "design_load": "5 kN",
    },
}

#: Written after the recomputation, for what those above leave out.
MORE = {
    "Whitworth fine thread in cast iron near an edge": {
        "report_units": "both",
        "thread": "3/8 BSF",
        "parent": "EN-GJL-250",
        "screw": "8.8",
        "hole_class": "medium",
        "screw_class": "medium",
        "insert_hole_class": "medium",
        "engagement": "0.5 in",
        "boss_diameter": "",
        "edge_distance": "16 mm",
        "hole_depth": "28 mm",
        "screw_reach": "17 mm",
        "design_load": "2000 lbf",
        "torque": "18 N·m",
        "bush_diameter_thin": "",
        "bush_diameter_heavy": "",
    },
    "inch fine thread at basic position in brass": {
        "report_units": "inch",
        "thread": "5/16-24 UNF",
        "parent": "CW614N-R430",
        "screw": "grade-5",
        "hole_class": "2B",
        "screw_class": "2A",
        "insert_hole_class": "3B",
        "tolerance_position": "basic",
        "insert_kind": "locking",
        "engagement": "0.4 in",
        "insert_length": "2 D",
        "hole_depth": "1.1 in",
        "screw_reach": "0.75 in",
        "boss_diameter": "0.8 in",
        "boss_support": "unknown",
        "edge_distance": "",
        "design_load": "1100 lbf",
        "torque": "140 in·lbf",
        "bush_diameter_thin": "",
        "bush_diameter_heavy": "",
        "engagement_available": "0.6 in",
    },
    "hot sand casting, long insert, preload": {
        "report_units": "SI",
        "thread": "M6",
        "parent": "356.0-T6-sand",
        "insert_length": "2.5 D",
        "engagement": "12 mm",
        "casting_factor": "0.8",
        "temperature": "120 degC",
        "temperature_min": "0 degC",  # and a screw that shrinks most: the assembled parent counts
        "clamped_material": "EN-GJL-250",
        "screw": "A2-70",
        "boss_diameter": "16 mm",
        "edge_distance": "",
        "hole_depth": "26 mm",
        "screw_reach": "17 mm",
        "design_load": "1.5 kN",
        "torque": "",
        "preload": "4 kN",
        "insert_friction": "0.12 to 0.18",
        "load_share": "",
        "insert_wire": "",
        "bush_diameter_thin": "",
        "bush_diameter_heavy": "",
    },
    "large thread through magnesium": {
        "report_units": "SI",
        "thread": "M30",
        "parent": "ZK60A-T5-extrusion",
        "parent_tensile_strength": "280 MPa",
        "parent_source": "certificate 12 (invented)",
        "screw": "10.9",
        "engagement": "40 mm",
        "hole_kind": "through",
        "hole_depth": "",
        "part_thickness": "48 mm",
        "screw_reach": "48 mm",
        "boss_diameter": "70 mm",
        "boss_support": "face",
        "edge_distance": "",
        "engagement_available": "",
        "fitting_factor": "1.15",
        "design_load": "70 kN",
        "torque": "450 N·m",
        "bush_diameter_thin": "",
        "bush_diameter_heavy": "",
        "insert_friction": "0.12 to 0.18",
    },
    "small locking insert, stainless screw": {
        "report_units": "both",
        "thread": "M3",
        "parent": "356.0-T6-sand-cut",
        "screw": "A2-70",
        "insert_kind": "locking",
        "engagement": "4.5 mm",
        "insert_length": "1.5 D",
        "hole_depth": "10 mm",
        "screw_reach": "6 mm",
        "boss_diameter": "8 mm",
        "boss_support": "base",
        "edge_distance": "6 mm",
        "design_load": "500 N",
        "torque": "1 N·m",
        "tightening_tool": "torque-wrench",
        "engagement_available": "",
        "bush_diameter_thin": "",
        "bush_diameter_heavy": "",
    },
}


#: The person who filled in the case wrote metric words into these.
FREE = {"requirement": "", "scope": "", "title": "An inch thread (invented)"}


def metric(text):
    """Return the units of SI that stand behind a number, and in the names of nothing."""
    units = ("mm", "mm²", "mm2", "kN", "MPa", "N·m", "N ⋅ m", "N", "°C", "K")
    return [unit for unit in units if re.search(rf"\d (?:{unit})(?![\w·])", text)]


def keys(name):
    """Return the keys of a case as text, as they are typed."""
    return {**yaml.load(DEMO.read_text("utf-8"), Loader=yaml.BaseLoader), **{**FIVE, **MORE}[name]}
