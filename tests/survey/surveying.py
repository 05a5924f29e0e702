"""Small networks and shorthand for the tests of the survey room."""

from collections.abc import Iterable, Mapping

import numpy as np

from soapstone.survey import Datum, Network, Plane, Reading, ReadingKind

KIND = ReadingKind
SIGMA = {KIND.TAPE: 0.001, KIND.PLAN: 0.001, KIND.HEIGHT: 0.0005, KIND.OFFSET: 0.001, KIND.LEVEL: 0.002}


def reading(
    kind: ReadingKind, points: str, value: float, sigma: float = 0.001, plane: Plane | None = None
) -> Reading:
    return Reading(kind, tuple(points.split()), value, sigma, f"{kind} {points}", "job.yaml:9", plane)


def tape(points: str, value: float, sigma: float = 0.001) -> Reading:
    return reading(KIND.TAPE, points, value, sigma)


def network(
    known: Mapping[str, Iterable[float]], readings: Iterable[Reading], sides=(), datum=Datum.FIXED, **more
) -> Network:
    readings = tuple(readings)
    names = tuple(dict.fromkeys([*known, *(p for r in readings for p in r.points)]))
    places = {name: np.array(at, dtype=float) for name, at in known.items()}
    return Network(names, places, readings, tuple(sides), datum=datum, **more)


def plan_network(fixed: dict, free: bool, distances: str) -> Network:
    """A plane network, all at height 0: lines `from to distance sigma`."""
    rows = [line.split() for line in distances.strip().splitlines()]
    readings = [reading(KIND.PLAN, f"{a} {b}", float(d), float(s)) for a, b, d, s in rows]
    net = network(fixed, readings)
    levelled = net.names if free else [n for n in net.names if n not in fixed]
    heights = [reading(KIND.HEIGHT, name, 0.0) for name in levelled]
    places = {name: np.array([*at, 0.0]) for name, at in fixed.items()}
    return Network(net.names, places, (*readings, *heights), datum=Datum.FREE if free else Datum.FIXED)


def shown(kind: ReadingKind, xyz: dict, points: str) -> float:
    """What a reading would show without error."""
    ends = [np.asarray(xyz[p], dtype=float) for p in points.split()]
    line = ends[-1] - ends[0]
    match kind:
        case KIND.TAPE:
            return float(np.linalg.norm(line))
        case KIND.PLAN:
            return float(np.hypot(line[0], line[1]))
        case KIND.LEVEL:
            return float(np.arctan2(line[2], np.hypot(line[0], line[1])))
        case KIND.HEIGHT:
            return float(ends[0][2])
    return float(ends[0][1])


def measured(xyz: dict, wanted: Iterable[tuple[ReadingKind, str]], chance=None) -> list[Reading]:
    """Readings of true coordinates, with noise when a random generator is given."""
    return [
        reading(
            kind,
            points,
            shown(kind, xyz, points) + (SIGMA[kind] * chance.normal() if chance else 0.0),
            SIGMA[kind],
        )
        for kind, points in wanted
    ]


FRAME = {
    "A": (0.0, 0.42, 0.30),
    "B": (0.0, -0.42, 0.30),
    "E": (-1.30, 0.40, 0.36),
    "F": (-1.31, -0.41, 0.35),
    "C": (-0.62, 0.36, 0.24),
    "D": (-0.60, -0.37, 0.25),
    "G": (-0.85, 0.05, 0.55),
}
WELL_MEASURED = [
    *((KIND.TAPE, f"{a} {b}") for a in "ABEF" for b in "CDG"),
    *((KIND.TAPE, pair) for pair in ("C D", "C G", "D G")),
    *((KIND.HEIGHT, p) for p in "CDG"),
    *((KIND.OFFSET, p) for p in "CD"),
    (KIND.LEVEL, "C D"),
    (KIND.PLAN, "A D"),
]


def frame(chance=None, spoil: dict[str, float] | None = None) -> Network:
    """An invented rear frame, well measured; `spoil` adds an error (SI) to readings by label."""
    readings = measured(FRAME, WELL_MEASURED, chance)
    known = {p: FRAME[p] for p in "ABEF"}
    spoil = spoil or {}
    spoiled = [
        Reading(r.kind, r.points, r.value + spoil.get(r.label, 0.0), r.sigma, r.label, r.place)
        for r in readings
    ]
    return network(known, spoiled)


def random_network(seed: int, *, noise: float = 1.0) -> tuple[Network, np.ndarray]:
    """Random points joined by random readings, in one of four ways; with the true coordinates."""
    chance = np.random.default_rng(seed)
    known = int(chance.integers(3, 6))
    count = known + int(chance.integers(2, 7))
    xyz = chance.uniform([-1.5, -0.8, 0.0], [1.5, 0.8, 1.2], (count, 3))
    names = [f"P{i}" for i in range(count)]
    style = ("point by point", "with cross checks", "in groups", "all kinds")[int(chance.integers(0, 4))]
    wanted: dict[tuple[ReadingKind, str], None] = {}
    order = list(chance.permutation(np.arange(known, count)))
    for step, i in enumerate(order):
        anchors = [*range(known), *order[:step]] if style != "in groups" else list(range(known))
        number = 2 if style == "in groups" else int(chance.integers(3, 6))
        for j in chance.choice(anchors, min(number, len(anchors)), replace=False):
            plan = style == "all kinds" and chance.random() < 0.4
            wanted[KIND.PLAN if plan else KIND.TAPE, f"{names[i]} {names[j]}"] = None
        if style == "in groups":
            for j in order[:step]:
                if chance.random() < 0.9:
                    wanted[KIND.TAPE, f"{names[i]} {names[j]}"] = None
        if style == "all kinds":
            for kind in (KIND.HEIGHT, KIND.OFFSET):
                if chance.random() < 0.5:
                    wanted[kind, names[i]] = None
            if chance.random() < 0.3:
                wanted[KIND.LEVEL, f"{names[i]} {names[int(chance.choice(anchors))]}"] = None
    if style == "with cross checks":
        for _ in range(count):
            i, j = sorted(chance.choice(count, 2, replace=False))
            wanted.setdefault((KIND.TAPE, f"{names[j]} {names[i]}"), None)
    true = dict(zip(names, xyz, strict=True))
    readings = measured(true, wanted, chance if noise else None)
    return Network(tuple(names), {n: true[n] for n in names[:known]}, tuple(readings)), xyz


def invented_network(seed: int) -> tuple[Network, np.ndarray]:
    """Five given points and seven found by tapes to any others, heights and some offsets; with the truth."""
    chance = np.random.default_rng(seed)
    true = {f"P{i}": chance.uniform([-1.2, -0.6, 0.1], [1.2, 0.6, 1.0]) for i in range(12)}
    names = [*true]
    wanted: dict[tuple[ReadingKind, str], None] = {}
    for name in names[5:]:
        for other in chance.choice([n for n in names if n != name], 7, replace=False):
            first, second = sorted((name, str(other)))
            wanted[KIND.TAPE, f"{first} {second}"] = None
        wanted[KIND.HEIGHT, name] = None
        if chance.random() < 0.6:
            wanted[KIND.OFFSET, name] = None
    net = network({n: true[n] for n in names[:5]}, measured(true, wanted, chance))
    return net, np.array([true[n] for n in net.names])
