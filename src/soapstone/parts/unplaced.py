"""What the job makes beside its frame has no place in the model: whose weight is left out, and how much."""

from collections.abc import Iterator

from soapstone.finding import Finding, Verdict
from soapstone.job.schema import Job
from soapstone.parts.layout import material_of
from soapstone.parts.shop_parts import ShopParts
from soapstone.parts.turned import mass_of


def unplaced_findings(job: Job, made: ShopParts) -> tuple[Finding, ...]:
    """`unplaced` of every plate, folded tube and turned part; pure.

    It holds where the job says what carries the part, and is open elsewhere: a load may be left out.
    """
    return tuple(_finding(name, quantity, mass, on) for name, quantity, mass, on in _masses(job, made))


def _masses(job: Job, made: ShopParts) -> Iterator[tuple[str, int, float, str | None]]:
    """Name, how many, kg of one, what carries it."""
    for plate in made.plates:
        owner = job.plates[plate.wall_of or plate.name]
        mass = plate.plate.outline.mass(material_of(job, plate.plate.material).density)
        yield plate.name, plate.plate.quantity, mass, owner.sits_on
    for folded in made.folded:
        spec = job.folded[folded.name]
        mass = folded.volume * material_of(job, job.stock[spec.stock].of).density
        yield folded.name, spec.quantity, mass, spec.sits_on
    for turned in made.turned:
        yield turned.name, turned.spec.quantity, mass_of(job, turned), turned.spec.sits_on


def _finding(name: str, quantity: int, each: float, on: str | None) -> Finding:
    together = f"{quantity * each:.3g} kg" + (f" ({quantity} of {each:.3g} kg)" if quantity > 1 else "")
    told = f"Not in the model: its {together} load nothing, and it is in the way of nothing."
    return Finding(
        id=f"unplaced:{name}",
        about=name,
        claim=f"the weight of {name} does not hang on this frame uncounted",
        verdict=Verdict.OPEN if on is None else Verdict.HOLDS,
        remedy="" if on else f"say what it `sits on`, or count its {together} in the mass of a body",
        caution=told,
        source="the job",
        assumed=() if on is None else (f"sits on {on}: the job says so, nothing checks it",),
    )
