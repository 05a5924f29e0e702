"""Readings taken again and again, as one each: enough to build a network up from."""

from collections import defaultdict
from dataclasses import replace

from soapstone.survey.records import Network, Reading


def merged(network: Network) -> Network:
    """The same with readings of the same thing in one, at their weighted mean."""
    alike: dict[tuple[object, ...], list[Reading]] = defaultdict(list)
    for reading in network.readings:
        alike[reading.kind, reading.points, reading.surface].append(reading)
    if len(alike) == len(network.readings):
        return network
    return replace(network, readings=tuple(_mean(group) for group in alike.values()))


def _mean(group: list[Reading]) -> Reading:
    if len(group) == 1:
        return group[0]
    weights = [reading.sigma**-2 for reading in group]
    whole = sum(weights)
    value = sum(weight * reading.value for weight, reading in zip(weights, group, strict=True)) / whole
    return replace(group[0], value=value, sigma=float(whole**-0.5))
