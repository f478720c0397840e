"""The published ways to work out a strip load, side by side and never averaged.

`METHODS` names the documents in the order they are shown: `unfactored` holds those that take an
area times a strength, `factored` those with factors for the boss and for bending. The standard's
table of insert lengths (`asme_b18_29_2m`) gives no strip load and stands apart.
"""

from collections.abc import Mapping

from ..strip import Method
from . import factored, unfactored

#: By the id of the document.
METHODS: Mapping[str, Method] = {
    method.id: method
    for method in (
        Method("fed_std_h28", "FED-STD-H28/2B, Appendix B", unfactored.fed_std_h28),
        Method("sae_770420", "SAE 770420", factored.sae_770420),
        Method("iso_tr_16224", "ISO/TR 16224", factored.iso_tr_16224),
        Method("vdi_2230", "VDI 2230-1", factored.vdi_2230, lost_pitches=factored.END_PITCHES),
        Method("machinerys_handbook", "Machinery's Handbook", unfactored.machinerys_handbook),
        Method(
            "nasa_tm_106943",
            "NASA TM-106943 (solid inserts)",
            unfactored.nasa_tm_106943,
            for_wire_inserts=False,
        ),
        Method("nasa_rp_1228", "NASA RP-1228", unfactored.nasa_rp_1228, ("parent",)),
    )
}
