"""The published ways to work out a strip load, side by side and never averaged.

One module for each document. `METHODS` names those that give a strip load, in the order they are
shown; the standard's table of insert lengths (`asme_b18_29_2m`) gives none and stands apart.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ..strip import Method
from . import fed_std_h28 as h28
from . import iso_tr_16224 as tr
from . import machinerys_handbook as handbook
from . import nasa_rp_1228 as rp
from . import nasa_tm_106943 as tm
from . import sae_770420 as sae
from . import vdi_2230 as vdi

#: By the id of the document.
METHODS: Mapping[str, Method] = MappingProxyType(
    {
        method.id: method
        for method in (
            Method("fed_std_h28", "FED-STD-H28/2B, Appendix B", h28.parent_strip, h28.screw_strip),
            Method("sae_770420", "SAE 770420", sae.parent_strip, sae.screw_strip),
            Method("iso_tr_16224", "ISO/TR 16224", tr.parent_strip, tr.screw_strip),
            Method("vdi_2230", "VDI 2230-1", vdi.parent_strip, vdi.screw_strip, vdi.END_PITCHES),
            Method(
                "machinerys_handbook",
                "Machinery's Handbook",
                handbook.parent_strip,
                handbook.screw_strip,
            ),
            Method(
                "nasa_tm_106943",
                "NASA TM-106943 (solid inserts)",
                tm.parent_strip,
                tm.screw_strip,
                for_wire_inserts=False,
            ),
            Method("nasa_rp_1228", "NASA RP-1228", rp.parent_strip, None),
        )
    }
)
