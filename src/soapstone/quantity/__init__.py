"""Text to SI and back.

The number is read by a grammar of our own, exactly, as a fraction; only the name of the unit is handed to
the units library. One conversion to a double at the very end makes text -> SI -> text -> SI exact.
"""

from soapstone.quantity.gauges import Gauge, gauges
from soapstone.quantity.kind import UNITS_FOR, Kind
from soapstone.quantity.reading import parse
from soapstone.quantity.show import Show, Style
from soapstone.quantity.sizes import parse_sizes
from soapstone.quantity.worded import parse_accuracy, parse_directed, parse_directed_angle, parse_position

__all__ = [
    "UNITS_FOR",
    "Gauge",
    "Kind",
    "Show",
    "Style",
    "gauges",
    "parse",
    "parse_accuracy",
    "parse_directed",
    "parse_directed_angle",
    "parse_position",
    "parse_sizes",
]
