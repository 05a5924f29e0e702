"""Does it hold: members, end welds, bolts, lugs and tabs, each answered as findings."""

from soapstone.strength.bolts import bolt
from soapstone.strength.lugs import lug
from soapstone.strength.members import member_stress
from soapstone.strength.pins import bolt_bending
from soapstone.strength.tabs import edge_distance, tab_bending
from soapstone.strength.welds import tube_end_weld, weld_size, weld_wall

KINDS = (
    "member-stress",
    "weld",
    "weld-size",
    "weld-wall",
    "bolt",
    "bolt-bending",
    "lug",
    "edge-distance",
    "tab-bending",
    "member-buckling",
    "tube-joint",
    "fatigue",
    "lug-lifting",
    "tab-weld",
    "boss",
    "engagement",
    "thread",
    "tightening",
    "clamping",
    "preload",
    "bearing",
    "sheet-tear",
    "sheet",
    "spreader",
    "plate-joint",
    "boss-burst",
    "foot",
    "rail-twist",
    "through-hole",
)

__all__ = [
    "KINDS",
    "bolt",
    "bolt_bending",
    "edge_distance",
    "lug",
    "member_stress",
    "tab_bending",
    "tube_end_weld",
    "weld_size",
    "weld_wall",
]
