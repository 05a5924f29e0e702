"""Readings to points with covariance; which reading is wrong, which point is loose."""

from soapstone.survey.adjust import adjust
from soapstone.survey.edges import Edge, between_centres
from soapstone.survey.findings import findings
from soapstone.survey.records import (
    CENTRE,
    CROSS,
    FLOOR,
    Ambiguity,
    Checked,
    Datum,
    Frame,
    Loose,
    Network,
    Plane,
    Reading,
    ReadingKind,
    Survey,
    coordinate_readings,
    framed_readings,
    straight_readings,
)
from soapstone.survey.snooping import Snooped, Suspect, snoop

__all__ = [
    "CENTRE",
    "CROSS",
    "FLOOR",
    "Ambiguity",
    "Checked",
    "Datum",
    "Edge",
    "Frame",
    "Loose",
    "Network",
    "Plane",
    "Reading",
    "ReadingKind",
    "Snooped",
    "Survey",
    "Suspect",
    "adjust",
    "between_centres",
    "coordinate_readings",
    "findings",
    "framed_readings",
    "snoop",
    "straight_readings",
]
