"""Five unlike joints, as changes of the demonstration; all invented."""

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


def keys(name):
    """Return the keys of a case as text, as they are typed."""
    return {**yaml.load(DEMO.read_text("utf-8"), Loader=yaml.BaseLoader), **FIVE[name]}
