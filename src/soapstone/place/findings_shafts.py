"""What there is to say of half-shafts through the travel and of propeller shafts."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from soapstone.errors import SoapstoneError
from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.place.answers import GEOMETRY, PRACTICE, answered, cited, size_words, unanswered
from soapstone.place.driveline import least_angle, residual_angle_allowed, working_angle
from soapstone.place.half_shafts import ShaftTravel
from soapstone.place.isolators import Array
from soapstone.place.propeller_shafts import Line, residual_angle


@dataclass(frozen=True)
class ShaftLimits:
    """What a half-shaft's joints stand; None where the job does not say.

    Attributes
    ----------
    inner_angle, outer_angle : float or None, rad
    closes, opens : float or None, m
        How far the joints can come together and draw apart from ride height.
    """

    inner_angle: float | None
    outer_angle: float | None
    closes: float | None
    opens: float | None


def half_shaft_findings(
    name: str, travel: ShaftTravel, positions: Sequence[str], limits: ShaftLimits, zero: str = "ride height"
) -> tuple[Finding, ...]:
    """Both angles and both ends of the plunge, each at its worst position of the wheel.

    Parameters
    ----------
    zero : where the plunge is counted from, in words
    """
    return (
        _angle(name, "inner", travel.inner_angle, positions, limits.inner_angle),
        _angle(name, "outer", travel.outer_angle, positions, limits.outer_angle),
        _plunge(name, "together", -travel.plunge, positions, limits.closes, zero),
        _plunge(name, "apart", travel.plunge, positions, limits.opens, zero),
    )


def _angle(name: str, end: str, angles: Array, positions: Sequence[str], limit: float | None) -> Finding:
    about, claim = f"{name}.{end}", f"the {end} joint stays within its angle"
    worst = int(angles.argmax())
    chain = Chain()
    demand = chain.given("b", float(angles[worst]), "rad", f"angle of the {end} joint, {positions[worst]}")
    if limit is None:
        ask = f"give the greatest angle of the {end} joint from its own data sheet"
        return unanswered("half-shaft-angle", about, claim, "rad", ask=ask, chain=chain)
    return answered(
        "half-shaft-angle",
        about,
        claim,
        chain,
        demand,
        chain.given("b_max", limit, "rad", "what the joint stands, from the job"),
        "rad",
        case=positions[worst],
        source=GEOMETRY,
        remedy=f"bring flange and hub {size_words(demand - limit, 'rad')} nearer to one line",
    )


def _plunge(
    name: str, way: str, plunge: Array, positions: Sequence[str], limit: float | None, zero: str
) -> Finding:
    about, claim = f"{name}.{way}", f"the shaft has the way it moves {way}"
    worst = int(plunge.argmax())
    chain = Chain()
    chain.given("p", float(plunge[worst]), "m", f"joints move {way} from {zero}, {positions[worst]}")
    demand = chain.step("p_u", "max(p, 0)", "m", "way that is used")
    if limit is None:
        ask = f"give how far the joints of {name} can move {way} from {zero}"
        return unanswered("half-shaft-plunge", about, claim, "m", ask=ask, chain=chain)
    longer = "longer" if way == "apart" else "shorter"
    return answered(
        "half-shaft-plunge",
        about,
        claim,
        chain,
        demand,
        chain.given("p_max", limit, "m", "way there is, from the job"),
        "m",
        case=positions[worst],
        source=GEOMETRY,
        remedy=f"make the shaft {size_words(demand - limit, 'm')} {longer}, if the other way allows",
    )


def propeller_shaft_findings(
    name: str, line: Line, speed: float, *, limits: Sequence[float | None] | None = None
) -> tuple[Finding, ...]:
    """Every joint's angle and the evenness of the whole line at a speed in rad/s.

    Parameters
    ----------
    limits : per joint, rad, from its data sheet; None for the table's
    """
    own = limits if limits is not None else [None] * len(line.angles)
    joints = [joint_finding(name, i, float(a), speed, own[i]) for i, a in enumerate(line.angles)]
    return (*joints, evenness_finding(name, line, speed))


def joint_finding(name: str, index: int, angle: float, speed: float, own: float | None) -> Finding:
    """One joint's angle against what it stands at a speed in rad/s: its own, or by the table."""
    chain = Chain()
    demand = chain.given("b", angle, "rad", "joint angle, from both shafts' directions")
    chain.given("w", speed, "rad/s", "speed of the shaft")
    if own is None:
        try:
            allowed = working_angle(speed)
        except SoapstoneError as error:
            about, claim = f"{name}.joint {index + 1}", "the joint runs at an angle it stands"
            return unanswered("joint-angle", about, claim, "rad", ask=str(error), chain=chain)
        capacity = chain.given("b_max", allowed.value, "rad", f"greatest at this speed; {allowed.note}")
        source = cited(allowed.source)
    else:
        capacity, source = (
            chain.given("b_max", own, "rad", "greatest, from the job"),
            "data sheet named in the job",
        )
    least = least_angle()
    caution = ""
    if angle < least.value:
        caution = (
            f"less than {np.degrees(least.value):.1f} deg: the needles do not roll and wear into the cross"
        )
    return answered(
        "joint-angle",
        f"{name}.joint {index + 1}",
        "the joint runs at an angle it stands",
        chain,
        demand,
        capacity,
        "rad",
        source=source,
        remedy=f"take {size_words(demand - capacity, 'rad')} out of this joint: longer shaft, or less offset",
        caution=caution,
    )


def evenness_finding(name: str, line: Line, speed: float) -> Finding:
    """What a whole line leaves of unevenness, as the angle of one joint that turns alike."""
    chain = Chain()
    for i, angle in enumerate(line.angles, start=1):
        chain.given(f"b_{i}", float(angle), "rad", f"angle of joint {i}")
    demand = chain.given(
        "b_r", residual_angle(line), "rad", "one joint as uneven as all of them in their phases"
    )
    chain.given("w", speed, "rad/s", "speed of the shaft")
    allowed = residual_angle_allowed(speed)
    chain.given("q", (allowed.value * speed) ** 2, "rad**2/s**2", f"what is stood; {allowed.note}")
    capacity = chain.step("b_a", "sqrt(q) / w", "rad", "residual angle that is stood at this speed")
    source = cited(allowed.source)
    return answered(
        "joint-evenness",
        name,
        "the last shaft turns evenly enough",
        chain,
        demand,
        capacity,
        "rad",
        source=source,
        remedy="make the two joint angles equal, in one plane, with the yokes of the shaft in phase",
    )


def whip_finding(
    name: str,
    speed: float,
    *,
    length: float,
    outer: float,
    inner: float,
    modulus: float,
    density: float,
    share: float | None = None,
) -> Finding:
    """Whether a tube turns well below its critical speed (rad/s).

    Parameters
    ----------
    share : float or None
        Part of the critical speed that may be used; 0.75, listed as assumed, when None.
    """
    chain = Chain()
    chain.given("L", length, "m", "between joint centres")
    chain.given("D", outer, "m", "outer diameter")
    chain.given("d", inner, "m", "inner diameter")
    chain.given("E", modulus, "Pa", "Young's modulus")
    chain.given("rho", density, "kg/m**3", "density")
    chain.step("i", "sqrt(D**2 + d**2) / 4", "m", "radius of gyration")
    chain.step("w_c", "(pi / L)**2 * i * sqrt(E / rho)", "rad/s", "critical speed, ends simply held")
    chain.given("k", 0.75 if share is None else share, "1", "part of it that may be used")
    capacity = chain.step("w_a", "k * w_c", "rad/s", "speed that may be run")
    demand = chain.given("w", speed, "rad/s", "speed of the shaft")
    assumed = ["three quarters of the critical speed may be used (common practice, no source)"]
    longest = length * float(np.sqrt(capacity / demand))
    return answered(
        "shaft-speed",
        name,
        "the shaft stays well below the speed at which it whips",
        chain,
        demand,
        capacity,
        "rad/s",
        source=f"first bending frequency of a uniform beam (Rayleigh); share: {PRACTICE}",
        remedy=f"a larger tube, or no more than {1000 * longest:.0f} mm between joints",
        caution="slip, yokes and run-out lower the critical speed further",
        assumed=assumed if share is None else (),
    )
