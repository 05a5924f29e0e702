"""The one shape in which every check answers."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from soapstone.formula import Step


class Verdict(StrEnum):
    """What a check concludes; `OPEN` means that not enough is known to say."""

    HOLDS = "holds"
    SHORT = "short"
    OPEN = "open"

    @property
    def mark(self) -> str:
        """The weld-bead mark for plain text: whole, cracked, or a row of tacks."""
        return {"holds": "====", "short": "==/==", "open": "= = ="}[self.value]


KINDS: Mapping[str, str] = MappingProxyType(
    {
        "reading": "does the reading agree with all the others",
        "point": "is the point known well enough",
        "survey": "do the readings together scatter as their accuracies say",
        "body-shape": "do a body's own readings hold its shape across its flat",
        "placed-point": "does a body's point sit where it was measured",
        "placed-sides": "are left and right of a body named the right way round",
        "overhang": "does a coped end sit on the tube it is welded to, all round",
        "through-hole": "does a tube keep enough of its section where another passes through it",
        "member-stress": "does the metal of a tube carry what pulls on it",
        "weld": "does the fillet at a tube's end carry its load",
        "weld-wall": "does the wall beside that fillet hold",
        "weld-size": "is the fillet large enough for the parts to take up heat",
        "bolt": "does a bolt carry its shear and pull",
        "bolt-bending": "does a bolt carry its load across the gaps of a fork",
        "lug": "does the plate round a bolt's hole hold",
        "edge-distance": "is there enough metal between a hole and the plate's edge",
        "tab-bending": "does a tab stand a push square to its face",
        "loose": "is everything held that is meant to be held",
        "member-buckling": "does no stretch of a tube buckle, bent and twisted as it is",
        "tube-joint": "does the wall of a tube stand the tube welded onto it",
        "frame-buckling": "does the frame as a whole stand below what buckles it",
        "second-order": "do the forces count what the loads add on the bent frame",
        "resonance": "does a running speed keep clear of the frame's own swing",
        "tab-stiffness": "is what the tabs' give would change known",
        "misfit": "what does pulling a hole into line leave in the metal",
        "fatigue": "do the stated cycles leave the welds whole",
        "lug-lifting": "does the plate round a bolt's hole hold by the rule for lifting lugs",
        "tab-weld": "does the weld at a tab's foot hold",
        "plate-joint": "does the wall of a tube stand the plate welded onto it",
        "boss": "are the bosses of a hung body known",
        "engagement": "does a bolt break before its thread strips",
        "thread": "does a tapped thread hold what pulls on its bolt",
        "boss-burst": "does a casting's boss not split round its thread",
        "tightening": "does the torque leave the bolt whole",
        "clamping": "do clamped faces neither slip nor open",
        "preload": "does a hollow rail bear the preload of the bolts through it",
        "bearing": "does a bolt crush or tear the edge of its hole",
        "sheet-tear": "does a foot tear out of thin sheet",
        "sheet": "does thin sheet stand the bending under a foot",
        "spreader": "is a spreader stiff enough to spread the load",
        "foot": "does a foot land on the rail it is meant for",
        "rail-twist": "does a rail stand a load beside its middle",
        "ride-height": "is it known how the vehicle stood while it was measured",
        "dressed": "was everything on a unit that belongs on it",
        "pose-target": "does a unit sit as level, as high and as much in line as asked",
        "pose-limit": "does a unit keep the gaps, heights and angles that must be kept",
        "pose-free": "does what is wanted settle where a unit sits",
        "jacks": "do the screws under a unit carry it into its place",
        "half-shaft-angle": "do a half-shaft's joints stay within their angles through the wheel's travel",
        "half-shaft-plunge": "does a half-shaft neither pull apart nor bottom through the wheel's travel",
        "joint-angle": "does a universal joint run at an angle that it stands at its speed",
        "joint-evenness": "does a propeller shaft turn evenly enough",
        "shaft-speed": "does a propeller shaft stay well below the speed at which it whips",
        "shaft-alignment": "do a rigid coupling's two halves stand true to each other",
        "balance": "do the frame's answer and statics alone agree on what holds a unit, and the whole",
        "mount-load": "does a rubber mount carry what falls to it",
        "mount-strain": "is the rubber of a mount pressed and sheared no further than it lasts",
        "isolation": "do the mounts keep the shake at running speed from the frame",
        "mount-broken": "does a unit keep clear of everything with any one mount broken",
        "unit-sway": "does a unit keep clear of everything while it moves on its mounts",
        "scan": "can a scan be used as it is",
        "clearance": "does everything keep clear of everything, however well it is known where it is",
        "reach": "does a tool reach every bolt, and can it be swung",
        "bolt-seat": "does a bolt's head lie flat, clear of the weld",
        "draw-out": "can a bolt be drawn out along its axis",
        "service-point": "is the room free that service needs",
        "ground-clearance": "does everything keep clear of the ground",
        "ramp": "do ramps and crests go through under the vehicle",
        "bolt-up": "do all bolts of a pattern go in when parts are as true as they are made",
        "way-in": "can a body be brought to its place with the rest standing",
        "order": "do things come apart one after another",
        "outline": "is a plate drawn by the user one clean closed outline",
        "cut-hole": "is no opening of a plate too small for the way it is cut",
        "cut-web": "is there enough metal between openings and edge for the way a plate is cut",
        "fold-radius": "is sheet folded round enough not to crack",
        "fold-leg": "does the press carry every leg of a folded strip",
        "fold-hole": "is no hole pulled out of round by a fold",
        "fold-wedge": "does the wall that a folded tube keeps fold without tearing",
        "unplaced": "does a part that is made beside the frame hang on it uncounted",
        "fit": "does one turned part go into another at every size",
        "bend-radius": "is no bend of a tube so tight that it flattens or wrinkles",
        "bend-straight": "does the clamp find enough straight tube between two bends",
        "bend-wall": "is the wall outside a bend as thick as a rule asks for",
        "bend-order": "can a tube be bent without hitting the floor or itself",
        "bend-stress": "does the metal of a bend carry what pulls on it",
        "case-wring": "is the joint between motor and gearbox spared by the way the mounts share the load",
    }
)
"""The closed list of what a finding can be about; each has its page in docs/findings.md."""


@dataclass(frozen=True)
class Finding:
    """One check answered.

    Attributes
    ----------
    id : str
        `kind:thing` (`member-stress:side_left`); the kind is one of `KINDS`.
    about : str
        The thing checked, by its name in the job.
    claim : str
        What would have to be true, in one plain clause.
    case : str
        The governing load case; empty where cases play no part.
    demand, capacity : float or None
        SI; None only where the verdict is `open`.
    unit : str
        SI unit of both (`Pa`, `N`, `N*m`, `m`, `1`).
    ratio : float or None
        demand / capacity.
    because : tuple of Step
        The chain of formulas with the numbers put in.
    source : str
        Standard, handbook or "common practice, no source".
    remedy : str
        The smallest change that would make it hold; empty when it holds.
    caution : str
        What to beware of even when it holds.
    assumed : tuple of str
        Every assumed value with its origin.
    """

    id: str
    about: str
    claim: str
    verdict: Verdict
    case: str = ""
    demand: float | None = None
    capacity: float | None = None
    unit: str = "1"
    ratio: float | None = None
    because: tuple[Step, ...] = ()
    source: str = "common practice, no source"
    remedy: str = ""
    caution: str = ""
    assumed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"no finding may be called {self.id!r}: its kind is not on the list")

    @property
    def kind(self) -> str:
        """The part of the id before the colon."""
        return self.id.partition(":")[0]


def judge(demand: float, capacity: float) -> tuple[float, Verdict]:
    """Ratio and verdict of a demand against a capacity (same unit, capacity > 0)."""
    ratio = demand / capacity
    return ratio, Verdict.HOLDS if ratio <= 1.0 else Verdict.SHORT
