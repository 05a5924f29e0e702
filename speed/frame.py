"""Frame statics side by side with two general-purpose libraries, on the same frame in the same run.

Counted on every side: building the model from arrays, factoring, solving ten load cases, and reading
displacements and member end forces of all of them back into arrays.

- PyNiteFEA: `analyze_linear`, which assembles once for all load combinations, with its sparse solver and
  without its stability check. Slender members, since it has no shear deformation.
- openseespy: ElasticTimoshenkoBeam, RCM numbering, the fastest here of BandSPD, ProfileSPD, BandGeneral,
  SparseSYM, SuperLU and UmfPack (BandSPD with 150 members, BandGeneral with 3,000), Linear with -factorOnce;
  the ten cases are ten patterns that follow each other in time, so that nothing is factored twice.
- Reworking: 1,000 other sections for one member of the 150, displacements, reactions and member end forces of
  all ten cases each time; against 1,000 times a new frame and `solve`. The first solution counts on our side.
"""

import contextlib
import io
import statistics
import time
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np

from soapstone.frame import Frame, Loads, Solution, rework, solve

CASES = 10
CHANGES = 1000
STATICS = "space frame statics: model, solution and member end forces of all cases"
Answer = tuple[np.ndarray, np.ndarray]


def _import(name: str) -> Any:
    with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        return __import__(name, fromlist=["_"])


def box_frame(members: int, *, slim: bool) -> dict[str, Any]:
    """A braced box girder, 12 members to a bay, its joints scattered by centimetres; invented."""
    rng = np.random.default_rng(1)
    bays = members // 12 + 2
    corners = np.array([[0.4 * i, 0.8 * j, 0.5 * k] for i in range(bays) for j in (0, 1) for k in (0, 1)])
    nodes = corners + rng.uniform(-0.05, 0.05, corners.shape)
    ring = [(0, 1), (0, 2), (1, 3), (2, 3)]
    run = [(0, 4), (1, 5), (2, 6), (3, 7), (0, 6), (1, 7), (0, 5), (2, 7)]
    ends = np.array([(4 * i + a, 4 * i + b) for i in range(bays) for a, b in (*ring, *run)])[:members]
    nodes = nodes[: ends.max() + 1]
    m, n = len(ends), len(nodes)
    area = rng.uniform(2e-4, 8e-4, m)
    held = np.zeros((n, 6), dtype=bool)
    held[[0, 1, -2, -1]] = True
    return {
        "node_names": tuple(f"joint_{i}" for i in range(n)),
        "nodes": nodes,
        "member_names": tuple(f"tube_{i}" for i in range(m)),
        "ends": ends,
        "offsets": np.zeros((m, 2, 3)),
        "up": np.array([0.1, 0.2, 1.0]) + np.zeros((m, 3)),
        "elastic_modulus": np.full(m, 205e9),
        "shear_modulus": np.full(m, 79e9),
        "area": area,
        "second_moment_y": rng.uniform(0.5e-7, 4e-7, m),
        "second_moment_z": rng.uniform(0.5e-7, 4e-7, m),
        "torsion_constant": rng.uniform(0.5e-7, 4e-7, m),
        "shear_area_y": np.full(m, np.inf) if slim else 0.5 * area,
        "shear_area_z": np.full(m, np.inf) if slim else 0.5 * area,
        "density": np.full(m, 7850.0),
        "releases": (),
        "springs": (),
        "held": held,
    }


def ten_cases(arrays: dict[str, Any]) -> dict[str, Any]:
    """Random forces at the joints and along the members."""
    rng = np.random.default_rng(2)
    names = tuple(f"case_{i}" for i in range(CASES))
    nodal = rng.uniform(-1e3, 1e3, (CASES, len(arrays["nodes"]), 6))
    return {
        "case_names": names,
        "nodal": nodal,
        "line": rng.uniform(-500, 500, (CASES, len(arrays["ends"]), 3)),
    }


def ours(arrays: dict[str, Any], loads: dict[str, Any]) -> Answer:
    solution: Solution = solve(Frame(**arrays), Loads(**loads))
    return solution.displacements, solution.end_forces


def by_openseespy(arrays: dict[str, Any], loads: dict[str, Any], system: str = "BandSPD") -> Answer:
    ops = _import("openseespy.opensees")
    n, m = len(arrays["nodes"]), len(arrays["ends"])
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    for tag, place in enumerate(arrays["nodes"].tolist(), 1):
        ops.node(tag, *place)
    for node in np.flatnonzero(arrays["held"].any(axis=1)).tolist():
        ops.fix(node + 1, *arrays["held"][node].astype(int).tolist())
    letters = (
        "elastic_modulus",
        "shear_modulus",
        "area",
        "torsion_constant",
        "second_moment_y",
        "second_moment_z",
    )
    sections = np.stack([arrays[k] for k in (*letters, "shear_area_y", "shear_area_z")], axis=1).tolist()
    ends, up = (arrays["ends"] + 1).tolist(), arrays["up"].tolist()
    for tag, ((a, b), section, reference) in enumerate(zip(ends, sections, up, strict=True), 1):
        ops.geomTransf("Linear", tag, *reference)
        ops.element("ElasticTimoshenkoBeam", tag, a, b, *section, tag)
    local = np.einsum("mij,cmj->cmi", _local_axes(arrays), loads["line"])[:, :, [1, 2, 0]].tolist()
    nodal = loads["nodal"].tolist()
    for case in range(CASES):
        pulse = [0.0] * (CASES + 2)
        pulse[case + 1] = 1.0
        ops.timeSeries("Path", case + 1, "-dt", 1.0, "-values", *pulse)
        ops.pattern("Plain", case + 1, case + 1)
        for tag, force in enumerate(nodal[case], 1):
            ops.load(tag, *force)
        for tag, w in enumerate(local[case], 1):
            ops.eleLoad("-ele", tag, "-type", "-beamUniform", *w)
    ops.constraints("Plain")
    ops.numberer("RCM")
    ops.system(system)
    ops.integrator("LoadControl", 1.0)
    ops.algorithm("Linear", "-factorOnce")
    ops.analysis("Static")
    moved, forces = np.zeros((CASES, n, 6)), np.zeros((CASES, m, 12))
    for case in range(CASES):
        if ops.analyze(1) != 0:
            raise RuntimeError("openseespy did not solve the frame")
        moved[case] = [ops.nodeDisp(tag) for tag in range(1, n + 1)]
        forces[case] = [ops.eleResponse(tag, "localForce") for tag in range(1, m + 1)]
    return moved, forces


def _large_by_openseespy(arrays: dict[str, Any], loads: dict[str, Any]) -> Answer:
    return by_openseespy(arrays, loads, "BandGeneral")


def _local_axes(arrays: dict[str, Any]) -> np.ndarray:
    along = arrays["nodes"][arrays["ends"][:, 1]] - arrays["nodes"][arrays["ends"][:, 0]]
    x = along / np.linalg.norm(along, axis=1)[:, None]
    y = np.cross(arrays["up"], x)
    y /= np.linalg.norm(y, axis=1)[:, None]
    return np.stack([x, y, np.cross(x, y)], axis=1)


def by_pynite(arrays: dict[str, Any], loads: dict[str, Any]) -> Answer:
    model = _import("Pynite").FEModel3D()
    nodes, members = arrays["node_names"], arrays["member_names"]
    shifts, forces = ("DX", "DY", "DZ", "RX", "RY", "RZ"), ("FX", "FY", "FZ", "MX", "MY", "MZ")
    for name, place in zip(nodes, arrays["nodes"].tolist(), strict=True):
        model.add_node(name, *place)
    model.add_material("steel", 205e9, 79e9, 0.3, 7850.0)
    letters = ("area", "second_moment_y", "second_moment_z", "torsion_constant")
    sections = np.stack([arrays[k] for k in letters], axis=1).tolist()
    for name, (a, b), section in zip(members, arrays["ends"].tolist(), sections, strict=True):
        model.add_section(name, *section)
        model.add_member(name, nodes[a], nodes[b], "steel", name)
    for name, held in zip(nodes, arrays["held"].tolist(), strict=True):
        if any(held):
            model.def_support(name, *held)
    for c, case in enumerate(loads["case_names"]):
        model.add_load_combo(case, {case: 1.0})
        for name, force in zip(nodes, loads["nodal"][c].tolist(), strict=True):
            for direction, value in zip(forces, force, strict=True):
                model.add_node_load(name, direction, value, case)
        for name, line in zip(members, loads["line"][c].tolist(), strict=True):
            for direction, w in zip(forces[:3], line, strict=True):
                model.add_member_dist_load(name, direction, w, w, case=case)
    model.analyze_linear(check_stability=False, sparse=True)
    cases = loads["case_names"]
    moved = [[[getattr(node, d)[c] for d in shifts] for node in model.nodes.values()] for c in cases]
    parts = [next(iter(member.sub_members.values())) for member in model.members.values()]
    return np.array(moved), np.array([[part.f(c).ravel() for part in parts] for c in cases], dtype=float)


def up_of_pynite(arrays: dict[str, Any]) -> np.ndarray:
    """PyNite picks its own local axes: the reference directions that make ours the same."""
    model = _import("Pynite").FEModel3D()
    model.add_material("steel", 205e9, 79e9, 0.3, 7850.0)
    model.add_section("tube", 1.0, 1.0, 1.0, 1.0)
    for name, place in zip(arrays["node_names"], arrays["nodes"].tolist(), strict=True):
        model.add_node(name, *place)
    for name, (a, b) in zip(arrays["member_names"], arrays["ends"].tolist(), strict=True):
        model.add_member(name, arrays["node_names"][a], arrays["node_names"][b], "steel", "tube")
    return np.array([member.T()[2, :3] for member in model.members.values()], dtype=float)


def _agree(found: Answer, expected: Answer) -> None:
    for mine, theirs in zip(found, expected, strict=True):
        if np.abs(mine - theirs).max() > 1e-8 * np.abs(theirs).max():
            raise AssertionError("the two answers differ by more than 1e-8")


def _interleaved(mine: Callable[[], Answer], theirs: Callable[[], Answer], runs: int) -> tuple[float, float]:
    """Median seconds of both, run in turn after one run to warm up; the answers of every run compared."""
    times: tuple[list[float], list[float]] = ([], [])
    _agree(mine(), theirs())
    for _ in range(runs):
        answers = []
        for call, spent in zip((mine, theirs), times, strict=True):
            start = time.perf_counter()
            answers.append(call())
            spent.append(time.perf_counter() - start)
        _agree(answers[0], answers[1])
    return statistics.median(times[0]), statistics.median(times[1])


def reworked(arrays: dict[str, Any], loads: dict[str, Any], sections: np.ndarray) -> Answer:
    """Other areas and second moments (k, 3) for the middle member, one after the other; the last answer."""
    member = len(arrays["ends"]) // 2
    prepared = rework(Frame(**arrays), Loads(**loads), [member])
    solution = prepared.solution
    for area, moment, torsion in sections.tolist():
        section = {"area": area, "second_moment_y": moment, "torsion_constant": torsion}
        solution = prepared.with_section(member, **section)
    return solution.displacements, solution.end_forces


def solved_anew(arrays: dict[str, Any], loads: dict[str, Any], sections: np.ndarray) -> Answer:
    """The same by solving each frame."""
    member, given = len(arrays["ends"]) // 2, Loads(**loads)
    columns = {name: arrays[name].copy() for name in ("area", "second_moment_y", "torsion_constant")}
    answer = (np.zeros(0), np.zeros(0))
    for section in sections.tolist():
        for column, value in zip(columns.values(), section, strict=True):
            column[member] = value
        solution = solve(Frame(**{**arrays, **columns}), given)
        answer = solution.displacements, solution.end_forces
    return answer


def _reworking() -> dict[str, Any]:
    arrays = box_frame(150, slim=False)
    loads = ten_cases(arrays)
    sections = np.random.default_rng(3).uniform([2e-4, 5e-8, 5e-8], [8e-4, 4e-7, 4e-7], (CHANGES, 3))
    times = _interleaved(
        lambda: reworked(arrays, loads, sections), lambda: solved_anew(arrays, loads, sections), 2
    )
    size = f"{len(arrays['ends'])} members, {CASES} cases, {CHANGES} sections for one member"
    what = "another section for one member: displacements, reactions and end forces of all cases"
    return _row("frame-rework", "solving anew", 20.0, times, size, what)


def _row(
    name: str, peer: str, goal: float, times: tuple[float, float], size: str, what: str = STATICS
) -> dict[str, Any]:
    ratio = times[1] / times[0]
    return {
        "id": name,
        "room": "frame",
        "what": what,
        "size": size,
        "ours_s": times[0],
        "peer": peer,
        "peer_s": times[1],
        "ratio": ratio,
        "goal": goal,
        "holds": ratio >= goal,
    }


def _compare(
    name: str, peer: str, call: Callable[..., Answer], arrays: dict[str, Any], goal: float, runs: int
):
    loads = ten_cases(arrays)
    size = f"{len(arrays['ends'])} members, {len(arrays['nodes'])} joints, {CASES} cases"
    times = _interleaved(lambda: ours(arrays, loads), lambda: call(arrays, loads), runs)
    return _row(name, peer, goal, times, size)


def measure() -> list[dict[str, Any]]:
    """All comparisons; the sides run in turn, medians."""
    slender = box_frame(150, slim=True)
    slender["up"] = up_of_pynite(slender)
    flexible = box_frame(150, slim=False)
    return [
        _compare("frame-statics-pynite", "PyNiteFEA", by_pynite, slender, 60.0, 3),
        _compare("frame-statics-openseespy", "openseespy", by_openseespy, flexible, 3.0, 25),
        _compare(
            "frame-statics-large", "openseespy", _large_by_openseespy, box_frame(3000, slim=False), 10.0, 5
        ),
        _reworking(),
    ]


if __name__ == "__main__":
    for row in measure():
        print(
            f"{row['id']}: {row['ours_s'] * 1e3:.2f} ms, {row['peer']} {row['peer_s'] * 1e3:.1f} ms, "
            f"{row['ratio']:.1f} times (goal {row['goal']:g}), {row['size']}"
        )
