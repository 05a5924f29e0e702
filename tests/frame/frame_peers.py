"""The same frame in two reference libraries. Their imports print and warn, which stays in here."""

import contextlib
import io
import warnings
from collections.abc import Sequence
from typing import Any

import numpy as np

from soapstone.frame import Frame, Loads, LumpedMass


def _quietly(name: str) -> Any:
    with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        return __import__(name, fromlist=["_"])


def by_openseespy(frame: Frame, loads: Loads) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Displacements (c, n, 6), reactions (c, n, 6) and local end forces (c, m, 12) by openseespy.

    ElasticTimoshenkoBeam, and elasticBeamColumn for members without shear deformation. Rigid arms are
    -jntOffset in the latter (the former ignores it) and rigidLink to a node at the true end in the former.
    Springs to the ground (diagonal ones) are zeroLength.
    """
    ops = _quietly("openseespy.opensees")
    n, m, c = len(frame.nodes), len(frame.ends), len(loads.case_names)
    moved, reactions, forces = np.zeros((c, n, 6)), np.zeros((c, n, 6)), np.zeros((c, m, 12))
    w = np.einsum("mij,cmj->cmi", frame.geometry.axes, loads.line)
    for case in range(c):
        ops.wipe()
        ops.model("basic", "-ndm", 3, "-ndf", 6)
        _opensees_nodes(ops, frame)
        _opensees_members(ops, frame)
        ops.timeSeries("Constant", 1)
        ops.pattern("Plain", 1, 1)
        for i in range(n):
            ops.load(i + 1, *loads.nodal[case, i].tolist())
        for i in range(m):
            x, y, z = w[case, i].tolist()
            ops.eleLoad("-ele", i + 1, "-type", "-beamUniform", y, z, x)
        ops.constraints("Transformation")
        ops.numberer("RCM")
        ops.system("FullGeneral")
        ops.integrator("LoadControl", 1.0)
        ops.algorithm("Linear")
        ops.analysis("Static")
        assert ops.analyze(1) == 0
        ops.reactions()
        moved[case] = [ops.nodeDisp(i + 1) for i in range(n)]
        reactions[case] = [ops.nodeReaction(i + 1) for i in range(n)]
        for at, spring in enumerate(frame.springs):
            reactions[case, spring.node] += ops.nodeReaction(n + 1 + at)
        for member, end in np.argwhere(_with_links(frame)).tolist():
            carried = np.array(ops.nodeReaction(1_000 + 2 * member + end))
            carried[3:] += np.cross(frame.offsets[member, end], carried[:3])
            reactions[case, frame.ends[member, end]] += carried
        forces[case] = [ops.eleResponse(i + 1, "localForce") for i in range(m)]
    ops.wipe()
    return moved, reactions * _supported(frame), forces


def _supported(frame: Frame) -> np.ndarray:
    """Where reactions stand: held directions and springs to the ground."""
    supported = frame.held.astype(float)
    for spring in frame.springs:
        supported[spring.node] = 1.0
    return supported


def _opensees_nodes(ops: Any, frame: Frame) -> None:
    n = len(frame.nodes)
    for i, place in enumerate(frame.nodes.tolist()):
        ops.node(i + 1, *place)
        ops.fix(i + 1, *frame.held[i].astype(int).tolist())
    tag = 0
    for at, spring in enumerate(frame.springs):
        assert spring.other is None and np.array_equal(spring.stiffness, np.diag(np.diag(spring.stiffness)))
        ground = n + 1 + at
        ops.node(ground, *frame.nodes[spring.node].tolist())
        ops.fix(ground, 1, 1, 1, 1, 1, 1)
        tags = []
        for k in np.diag(spring.stiffness).tolist():
            tag += 1
            tags.append(tag)
            ops.uniaxialMaterial("Elastic", tag, k)
        element = ("zeroLength", 10_000 + at, ground, spring.node + 1)
        ops.element(*element, "-mat", *tags, "-dir", 1, 2, 3, 4, 5, 6)


def _opensees_members(ops: Any, frame: Frame) -> None:
    for i, (a, b) in enumerate((frame.ends + 1).tolist()):
        slim = not np.isfinite(frame.shear_area_y[i])
        arms = frame.offsets[i].ravel().tolist()
        offset = ["-jntOffset", *arms] if any(arms) and slim else []
        if _with_links(frame)[i].any():
            a, b = _linked(ops, frame, i, 0), _linked(ops, frame, i, 1)
        ops.geomTransf("Linear", i + 1, *frame.up[i].tolist(), *offset)
        E, G, A = frame.elastic_modulus[i], frame.shear_modulus[i], frame.area[i]
        J, Iy, Iz = frame.torsion_constant[i], frame.second_moment_y[i], frame.second_moment_z[i]
        section = [float(v) for v in (E, G, A, J, Iy, Iz)]
        shear = [float(frame.shear_area_y[i]), float(frame.shear_area_z[i])]
        if slim:
            stiff = [float(v) for v in (A, E, G, J, Iy, Iz)]
            ops.element("elasticBeamColumn", i + 1, a, b, *stiff, i + 1)
        else:
            ops.element("ElasticTimoshenkoBeam", i + 1, a, b, *section, *shear, i + 1)


def _with_links(frame: Frame) -> np.ndarray:
    """Which member ends (m, 2) hang on a link: all of the shear-flexible members with arms."""
    linked = np.isfinite(frame.shear_area_y) & frame.offsets.any(axis=(1, 2))
    return np.stack([linked, linked], axis=1)


def _linked(ops: Any, frame: Frame, member: int, end: int) -> int:
    """A node at a member's true end, tied rigidly to its joint."""
    node = int(frame.ends[member, end])
    tag = 1_000 + 2 * member + end
    ops.node(tag, *(frame.nodes[node] + frame.offsets[member, end]).tolist())
    ops.rigidLink("beam", node + 1, tag)
    return tag


_SHIFTS = ("DX", "DY", "DZ", "RX", "RY", "RZ")
_FORCES = ("FX", "FY", "FZ", "MX", "MY", "MZ")


class PyniteFrame:
    """A slender frame without offsets in PyNiteFEA.

    PyNite chooses its own local axes; `up` gives the reference directions that make ours the same.
    """

    def __init__(self, frame: Frame, loads: Loads) -> None:
        assert np.isinf(frame.shear_area_y).all() and not frame.offsets.any()
        self.loads = loads
        self.model = _quietly("Pynite").FEModel3D()
        for name, place in zip(frame.node_names, frame.nodes.tolist(), strict=True):
            self.model.add_node(name, *place)
        for i, name in enumerate(frame.member_names):
            self._add_member(frame, i, name)
        for name, held in zip(frame.node_names, frame.held.tolist(), strict=True):
            self.model.def_support(name, *held)
        for case in loads.case_names:
            self.model.add_load_combo(case, {case: 1.0})
        self._add_loads(frame, loads)
        self.up = np.array([self.model.members[name].T()[2, :3] for name in frame.member_names], dtype=float)

    def _add_member(self, frame: Frame, i: int, name: str) -> None:
        E, G = float(frame.elastic_modulus[i]), float(frame.shear_modulus[i])
        self.model.add_material(name, E, G, 0.3, float(frame.density[i]))
        section = (frame.area, frame.second_moment_y, frame.second_moment_z, frame.torsion_constant)
        self.model.add_section(name, *(float(values[i]) for values in section))
        a, b = (frame.node_names[j] for j in frame.ends[i])
        self.model.add_member(name, a, b, name, name)

    def _add_loads(self, frame: Frame, loads: Loads) -> None:
        for c, case in enumerate(loads.case_names):
            for i, name in enumerate(frame.node_names):
                for direction, force in zip(_FORCES, loads.nodal[c, i].tolist(), strict=True):
                    self.model.add_node_load(name, direction, force, case)
            for i, name in enumerate(frame.member_names):
                for direction, w in zip(_FORCES[:3], loads.line[c, i].tolist(), strict=True):
                    self.model.add_member_dist_load(name, direction, w, w, case=case)

    def settle(self, name: str, movement: Sequence[float]) -> None:
        """Movements of a node's held directions, the same in all cases."""
        for direction, value in zip(_SHIFTS, movement, strict=True):
            if value:
                self.model.def_node_disp(name, direction, value)

    def geometric_stiffness(self) -> np.ndarray:
        """Of the first case, from the axial forces that `solve` found; (6 n, 6 n)."""
        return self.model.Kg(self.loads.case_names[0], sparse=False, first_step=False)

    def solve(self, *, second_order: bool = False) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Displacements, reactions and local end forces as `by_openseespy` gives them."""
        with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
            warnings.simplefilter("ignore")
            if second_order:
                self.model.analyze_PDelta(check_stability=False, sparse=True)
            else:
                self.model.analyze_linear(check_stability=False, sparse=True)
        nodes = self.model.nodes.values()
        cases = self.loads.case_names
        moved = [[[getattr(node, d)[case] for d in _SHIFTS] for node in nodes] for case in cases]
        reactions = [[[getattr(node, "Rxn" + d)[case] for d in _FORCES] for node in nodes] for case in cases]
        forces = [
            [self._end_forces(member, case) for member in self.model.members.values()] for case in cases
        ]
        return np.array(moved), np.array(reactions), np.array(forces)

    @staticmethod
    def _end_forces(member: Any, case: str) -> np.ndarray:
        (part,) = member.sub_members.values()
        return np.asarray(part.f(case), dtype=float).ravel()


def frequencies_by_openseespy(
    frame: Frame, masses: Sequence[LumpedMass], count: int, *, consistent: bool
) -> np.ndarray:
    """The lowest frequencies; members slender, each mass at the end of a rigidLink, its inertia diagonal."""
    ops = _quietly("openseespy.opensees")
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    _opensees_nodes(ops, frame)
    for i, lump in enumerate(masses):
        tag = 50_000 + i
        ops.node(tag, *(frame.nodes[lump.node] + lump.offset).tolist())
        ops.mass(tag, *[lump.mass] * 3, *np.diag(lump.inertia).tolist())
        ops.rigidLink("beam", lump.node + 1, tag)
    for i, (a, b) in enumerate((frame.ends + 1).tolist()):
        ops.geomTransf("Linear", i + 1, *frame.up[i].tolist())
        names = ("area", "elastic_modulus", "shear_modulus", "torsion_constant")
        stiff = [float(getattr(frame, name)[i]) for name in (*names, "second_moment_y", "second_moment_z")]
        own = ["-mass", float(frame.density[i] * frame.area[i]), "-cMass"] if consistent else []
        ops.element("elasticBeamColumn", i + 1, a, b, *stiff, i + 1, *own)
    ops.constraints("Transformation")
    values = np.array(ops.eigen("-fullGenLapack", count))
    ops.wipe()
    return np.sqrt(values) / (2 * np.pi)
