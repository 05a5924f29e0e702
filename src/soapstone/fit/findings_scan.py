"""What is wrong with a scan, said plainly; and what of it makes every gap to it doubtful."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding, Verdict
from soapstone.formula import Chain
from soapstone.job.schema import Job
from soapstone.parts.assembly import Assembly
from soapstone.parts.scans import METRES, Scan

Array = NDArray[np.float64]

_SMALLEST, _LARGEST = 0.05, 20.0
"""Of the place it belongs in: a scan outside of this is taken to have been given the wrong unit."""
_FAR = 100.0
"""m; nothing of a vehicle lies so far from its points."""
_FINE = 1e-4
"""m; numbers that step by more than a tenth of a millimetre make a scan jagged."""
_SOURCE = "common practice, no source"


def scan_doubts(job: Job, assembly: Assembly, points: Array) -> Mapping[str, str]:
    """By body or obstacle: why no gap to it is proven, when its scan is of doubtful unit or place."""
    found = {}
    for owner, scan in assembly.scans:
        words = _unit(scan, _place_size(owner, job, points)) or _far(scan, owner, assembly, points)
        if words:
            found[owner] = words
    return found


def scan_findings(job: Job, assembly: Assembly, points: Array) -> Iterator[Finding]:
    """One for each scan."""
    for owner, scan in assembly.scans:
        yield _sound(owner, scan, job, assembly, points)


def _sound(owner: str, scan: Scan, job: Job, assembly: Assembly, points: Array) -> Finding:
    doubt = scan.trouble or _unit(scan, _place_size(owner, job, points))
    doubt = doubt or _far(scan, owner, assembly, points)
    if scan.trouble:
        doubt = f"{scan.trouble}; save it again as a mesh"
    coarse = scan.step > _FINE
    if not doubt and coarse:
        doubt = (
            f"its numbers step by {1e3 * scan.step:.2g} mm so far from its origin: move it near the origin "
            "before saving it, or save it as text"
        )
    chain = Chain()
    if scan.solid is not None:
        chain.given("n", len(scan.solid.triangles), "1", "faces")
        chain.given("s", scan.size, "m", f"longest side, read in {scan.unit}")
        chain.given(
            "e", scan.step, "m", "the least difference that its numbers can show; 0 when as fine as any"
        )
        chain.given("h", len(scan.holes), "1", "holes")
        chain.given("f", scan.flipped, "1", "edges whose two faces look opposite ways")
    return Finding(
        id=f"scan:{scan.name}",
        about=scan.name,
        claim=f"the scan {scan.file} can be used",
        verdict=Verdict.OPEN if doubt else Verdict.HOLDS,
        because=chain.steps,
        source=_SOURCE,
        remedy=doubt,
        caution="; ".join(_beside(scan)),
    )


def _beside(scan: Scan) -> Iterator[str]:
    if scan.holes:
        widest = f"the widest {1e3 * scan.holes[0]:.0f} mm across"
        yield f"it has {len(scan.holes)} holes, {widest}: what comes through them is not seen"
    if scan.rim:
        yield "it is a sheet with a rim: what lies behind it is not seen"
    if scan.tangled:
        yield f"{scan.tangled} of its edges have more than two faces, so it has no clear inside"
    if scan.flipped:
        yield f"some of its faces look the wrong way ({scan.flipped} edges); gaps do not depend on that"
    if scan.inside_out:
        yield "all its faces look inwards; gaps do not depend on that"


def _place_size(owner: str, job: Job, points: Array) -> float:
    """How large the place is that a scan belongs in, m: between a body's points, or the job's."""
    own = list(job.bodies[owner].points.values()) if owner in job.bodies else []
    at = np.array(own) if len(own) > 1 else points
    return float(np.ptp(at, axis=0).max()) if len(at) > 1 else 1.0


def _unit(scan: Scan, place: float) -> str:
    """Empty when the size goes with the place."""
    if scan.solid is None or _SMALLEST * place <= scan.size <= _LARGEST * place:
        return ""
    raw = scan.size / METRES[scan.unit]
    fits = [unit for unit, factor in METRES.items() if _SMALLEST * place <= raw * factor <= _LARGEST * place]
    fits.sort(key=lambda unit: abs(np.log(raw * METRES[unit] / place)))
    small = "small" if scan.size < place else "large"
    said = f"read in {scan.unit} it is {_length(scan.size)} long, too {small} for its place"
    if not fits:
        return f"{said}, and no unit would fit; see how it was saved"
    ways = " or ".join(f"{unit} ({_length(raw * METRES[unit])})" for unit in fits)
    return f"{said}; unit: {ways} would fit"


def _far(scan: Scan, owner: str, assembly: Assembly, points: Array) -> str:
    """Empty when it lies where the job is."""
    solids = [thing.solid for thing in assembly.things if thing.owner == owner and thing.scan is scan]
    if not solids or not len(points):
        return ""
    low, high = solids[0].vertices.min(axis=0), solids[0].vertices.max(axis=0)
    apart = np.linalg.norm(np.maximum(0.0, np.maximum(low - points, points - high)), axis=1).min()
    if apart <= _FAR:
        return ""
    return f"it lies {_length(float(apart))} from the nearest point of the job: move it onto the job's datum"


def _length(size: float) -> str:
    if size >= 1000.0:
        return f"{size / 1000.0:.4g} km"
    return f"{1e3 * size:.4g} mm" if size < 10.0 else f"{size:.4g} m"
