"""The ways in, and the order in which all of it comes apart, of one job."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from soapstone.finding import Finding
from soapstone.fit.findings_ways import order_findings, way_findings
from soapstone.fit.freeing import single_changes
from soapstone.fit.going_in import Brought, Change, bring_all_in
from soapstone.fit.order import Order, order_of
from soapstone.fit.pieces import Bodies, bodies_of
from soapstone.job.schema import Job
from soapstone.job.ways import WayIn
from soapstone.parts.layout import Layout
from soapstone.place.placed import Placed


@dataclass(frozen=True)
class WaysIn:
    """What the job's stages come to; all empty where it names none.

    Attributes
    ----------
    bodies : what is moved, and what stays with the vehicle
    brought : how each stage goes
    order : how all of it comes apart; None without stages
    """

    bodies: Bodies = field(default_factory=lambda: Bodies({}, {}, {}))
    brought: tuple[Brought, ...] = ()
    order: Order | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """One for each stage, one for each knot."""
        return (*way_findings(self.brought), *order_findings(self.order, self.brought))


def ways_in(
    job: Job, layout: Layout, placed: Mapping[str, Placed], progress: Callable[[str], None]
) -> WaysIn:
    """Every stage of `way in`, and the order.

    Parameters
    ----------
    job, layout, placed : what there is, and where
    progress : told how far the search is
    """
    if not job.way_in:
        return WaysIn()
    bodies = bodies_of(job, layout, placed)

    def changes(stage: WayIn) -> Iterator[Change]:
        return single_changes(job, layout, placed, bodies, stage)

    def told(share: float) -> None:
        progress(f"way in, {100 * share:.0f} % of the search")

    brought = bring_all_in(job.way_in, bodies, changes, told)
    return WaysIn(bodies, brought, order_of(bodies, layout))
