"""Another section for one member, without solving the frame anew.

A member's stiffness has rank 6: with Z = K⁻¹ Bᵀ (six solutions), F = B Z, its natural deformations v and the
changes dS of its natural stiffness and dq of its clamped forces, the new movements are

    u' = u - Z w,    w = (1 + dS F)⁻¹ (dS v + dq)

exactly (M. A. Woodbury, Inverting modified matrices, Princeton 1950; from memory). Z is kept per member.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.blas import dgemm
from scipy.linalg.lapack import dgesv
from scipy.sparse import coo_array, csr_array

from soapstone.errors import GeometryError
from soapstone.frame.assemble import System, assemble
from soapstone.frame.model import _MEMBER_FLOATS, Frame, Loads
from soapstone.frame.release import condense_forces
from soapstone.frame.solve import (
    Prepared,
    Solution,
    clamped_forces,
    prepare,
    solve_prepared,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SECTION = _MEMBER_FLOATS[2:8]
_ONE = np.eye(6)
_AT_ONCE = 64
# How many members' solutions are kept, in numbers altogether: 160 MB.
_KEPT = 20_000_000


@dataclass(frozen=True, eq=False)
class _Spread:
    """What unit natural forces w of one member do.

    `everywhere` (6 n + 12 m + r, 6): movements, end forces, and reactions in the r directions that have any;
    then the member's own flexibility F (6, 6), natural deformations v (6, c), and section as it was.
    """

    everywhere: Floats
    flexibility: Floats
    deformation: Floats
    given: dict[str, float]


@dataclass(frozen=True, eq=False)
class Rework:
    """A solved frame that answers for other sections of single members; see `rework`."""

    frame: Frame
    loads: Loads
    solution: Solution
    _prepared: Prepared
    _reading: csr_array
    _supports: Ints
    _base: Floats
    _released: frozenset[int]
    _kept: dict[int, _Spread] = field(default_factory=dict)

    def with_section(self, member: int, **section: float) -> Solution:
        """The solution with one member's section changed, loads as they were (its own weight too).

        Parameters
        ----------
        member : int
        **section : float, SI
            Any of area, second_moment_y, second_moment_z, torsion_constant, shear_area_y, shear_area_z.
        """
        unknown = [name for name in section if name not in _SECTION]
        if unknown or not all(value > 0.0 for value in section.values()):
            raise GeometryError(
                f"the new section of {self.frame.member_names[member]} makes no sense",
                remedy="give areas and moments of area above zero",
            )
        spread = self._kept.get(member) or self._prepare([member])[0]
        change, clamped = self._change(member, section, spread)
        left = _ONE + change @ spread.flexibility
        w = dgesv(left, change @ spread.deformation + clamped)[2]
        return self._read(dgemm(1.0, spread.everywhere, w, beta=1.0, c=self._base.copy("F"), overwrite_c=1))

    def _prepare(self, members: Sequence[int]) -> list[_Spread]:
        """Solve for unit natural forces of some members at once, and keep what they do."""
        system, chosen = self._prepared.system, np.asarray(members, dtype=np.int64)
        directions, k = system.directions[: len(self.frame.ends)], 6 * len(members)
        rows = np.zeros((system.number.size, len(members), 6))
        owner = np.arange(len(members))
        own = system.compatibility[chosen]
        np.add.at(rows, (directions[chosen], owner[:, None]), own.transpose(0, 2, 1))
        moved = np.zeros((system.number.size, k))
        moved[system.where] = -self._prepared.factored.solve(rows.reshape(-1, k)[system.where])
        natural = (system.stiffness @ (system.compatibility @ moved[directions])).reshape(
            -1, 6, len(members), 6
        )
        natural[chosen, :, owner] += _ONE
        whole = np.concatenate([moved, natural.reshape(-1, k)])
        everywhere = np.asfortranarray(np.concatenate([moved, self._reading @ whole]))
        before = self.solution.displacements.reshape(len(self.loads.case_names), -1).T
        spreads = []
        for at, member in enumerate(chosen.tolist()):
            mine, there = slice(6 * at, 6 * at + 6), directions[member]
            given = {name: float(getattr(self.frame, name)[member]) for name in _MEMBER_FLOATS[:8]}
            spreads.append(
                _Spread(
                    everywhere[:, mine].copy("F"),
                    -own[at] @ moved[there, mine],
                    own[at] @ before[there],
                    given,
                )
            )
        if (len(self._kept) + len(members)) * spreads[0].everywhere.size > _KEPT:
            self._kept.clear()
        self._kept.update(zip(chosen.tolist(), spreads, strict=True))
        return spreads

    def _change(self, member: int, section: dict[str, float], spread: _Spread) -> tuple[Floats, Floats]:
        """The change of the natural stiffness (6, 6) and of the clamped natural forces (6, c)."""
        if member not in self._released and self.loads.misfit is None and self.loads.strain is None:
            length = float(self.frame.geometry.lengths[member])
            stiffer = _natural(spread.given | section, length) - _natural(spread.given, length)
            return _ONE * stiffer, np.zeros((6, len(self.loads.case_names)))
        before, after = (_alone(self.frame, self.loads, member, s) for s in ({}, section))
        local = self._prepared.system.local[member]
        # Both clamped forces carry the same load, so that their difference is Bᵀ of natural forces.
        return after[0] - before[0], np.linalg.lstsq(local.T, after[1] - before[1], rcond=None)[0]

    def _read(self, rows: Floats) -> Solution:
        """The solution from rows (6 n + 12 m + r, c) as in `_Spread.everywhere`."""
        n, m, c = len(self.frame.nodes), len(self.frame.ends), rows.shape[1]
        last = 6 * n + 12 * m
        reactions = np.zeros((c, 6 * n))
        reactions[:, self._supports] = rows[last:].T
        return Solution(
            rows[: 6 * n].T.reshape(c, n, 6),
            reactions.reshape(c, n, 6),
            rows[6 * n : last].T.reshape(c, m, 12),
            self.solution.residual,
            self.solution.idle,
        )


def rework(frame: Frame, loads: Loads, members: Sequence[int] = ()) -> Rework:
    """Solve a frame so that changes of single sections come cheaply; errors as `solve`.

    Parameters
    ----------
    members : sequence of int
        Those to be prepared at once; any other is when it is first asked for.
    """
    prepared = prepare(frame, loads)
    solution = solve_prepared(frame, prepared, loads)
    c = len(loads.case_names)
    reading, supports = _reading(frame, prepared.system)
    parts = (solution.displacements, solution.end_forces, solution.reactions.reshape(c, -1)[:, supports])
    base = np.asfortranarray(np.concatenate([part.reshape(c, -1).T for part in parts]))
    released = frozenset(release.member for release in frame.releases)
    prepared_for = Rework(frame, loads, solution, prepared, reading, supports, base, released)
    for first in range(0, len(members), _AT_ONCE):
        prepared_for._prepare(members[first : first + _AT_ONCE])
    return prepared_for


def _reading(frame: Frame, system: System) -> tuple[csr_array, Ints]:
    """From movements (6 n) and natural forces (6 m) to end forces (12 m) and reactions (r), sparse.

    And the directions (r,) in which there are reactions.
    """
    m, size = len(frame.ends), system.number.size
    modes = size + np.arange(6 * m).reshape(m, 1, 6)
    to_ends = _entries(system.local.transpose(0, 2, 1), np.arange(12 * m).reshape(m, 12, 1), modes)
    directions = system.directions
    to_nodes = _entries(system.compatibility.transpose(0, 2, 1), directions[:m, :, None], modes)
    last = m + len(frame.springs)
    springs, theirs = system.blocks[m:last], directions[m:last]
    to_nodes = np.concatenate([to_nodes, _entries(springs, theirs[:, :, None], theirs[:, None, :])], axis=1)
    to_nodes = to_nodes[:, system.number[to_nodes[1].astype(np.int64)] < 0]
    to_ground = [m + i for i, spring in enumerate(frame.springs) if spring.other is None]
    ground = np.array(to_ground, dtype=np.int64)
    own = directions[ground, :6]
    carried = _entries(-system.blocks[ground, :6, :6], own[:, :, None], own[:, None, :])
    reactions = np.concatenate([to_nodes, carried], axis=1)
    supports, place = np.unique(reactions[1].astype(np.int64), return_inverse=True)
    reactions[1] = 12 * m + place
    values, rows, columns = np.concatenate([to_ends, reactions], axis=1)
    shape = (12 * m + supports.size, size + 6 * m)
    entries = (values, (rows.astype(np.int64), columns.astype(np.int64)))
    return coo_array(entries, shape=shape).tocsr(), supports


def _entries(blocks: Floats, rows: Ints, columns: Ints) -> Floats:
    """The entries of blocks that are not zero: values, rows, columns; (3, k)."""
    rows, columns = np.broadcast_to(rows, blocks.shape), np.broadcast_to(columns, blocks.shape)
    met = blocks != 0.0
    return np.stack([blocks[met], rows[met], columns[met]])


def _natural(given: dict[str, float], L: float) -> Floats:
    """Diagonal (6,) of one member's natural stiffness; see element."""
    E, G, A, Iy, Iz, J, Asy, Asz = (given[name] for name in _MEMBER_FLOATS[:8])
    share, y, z = 12.0 * E / (G * L * L), E * Iy / L, E * Iz / L
    phi_y, phi_z = share * Iy / Asz, share * Iz / Asy
    return np.array([E * A / L, G * J / L, y, 3.0 * y / (1.0 + phi_y), z, 3.0 * z / (1.0 + phi_z)])


def _alone(frame: Frame, loads: Loads, member: int, section: dict[str, float]) -> tuple[Floats, Floats]:
    """Natural stiffness (6, 6) and clamped forces (12, c) of one member, its releases taken out."""
    only = slice(member, member + 1)
    pair = frame.ends[member]
    own: dict[str, Any] = {name: getattr(frame, name)[only] for name in _MEMBER_FLOATS}
    own |= {name: np.array([value]) for name, value in section.items()}
    alone = replace(
        frame,
        node_names=("start", "end"),
        nodes=frame.nodes[pair],
        member_names=frame.member_names[only],
        ends=np.array([[0, 1]]),
        offsets=frame.offsets[only],
        up=frame.up[only],
        held=frame.held[pair],
        springs=(),
        releases=tuple(replace(r, member=0) for r in frame.releases if r.member == member),
        **own,
    )
    its = replace(
        loads,
        nodal=loads.nodal[:, pair],
        line=loads.line[:, only],
        settled=None,
        misfit=None if loads.misfit is None else loads.misfit[:, only],
        strain=None if loads.strain is None else loads.strain[:, only],
    )
    system = assemble(alone)
    fixed, _ = condense_forces(alone, clamped_forces(alone, its, system), system.local, system.levels)
    return system.stiffness[0], fixed[0]
