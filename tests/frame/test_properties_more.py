"""What must hold for every frame: forced movements, second order, buckling, modes.

1e-8 of the largest entry as for the rest; eigenvalues too, which a symmetric solver finds to their condition.
"""

from dataclasses import replace

import numpy as np
from frame_kit import worst
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from test_properties import AGREED, full_frame, moved_rigidly

from soapstone.frame import (
    Loads,
    LumpedMass,
    balance,
    buckling,
    member_displacements,
    member_forces,
    modes,
    second_order,
    solve,
)
from soapstone.frame.assemble import assemble
from soapstone.frame.element import to_nodes
from soapstone.frame.geometric import geometric_blocks

seeds = st.integers(0, 10_000)
quick = settings(deadline=None, max_examples=8)


def forced(frame, loads, seed):
    """The same cases with supports moved, ends that do not fit, and warmth, all at random."""
    rng = np.random.default_rng(seed)
    c, m = len(loads.case_names), len(frame.ends)
    held = np.where(frame.held, rng.uniform(-2e-3, 2e-3, (c, *frame.held.shape)), 0.0)
    gaps = rng.uniform(-2e-3, 2e-3, (c, m, 2, 6)) * (rng.random((m, 2, 1)) < 0.2)
    strain = rng.uniform(-1e-3, 1e-3, (c, m, 3))
    return replace(loads, settled=held, misfit=gaps, strain=strain)


def turned(loads, both, mirrored):
    """Forced movements seen from elsewhere.

    A curve about y bends towards z, which stays in a mirror; one about z bends towards y, which turns round.
    """
    signs = np.array([1.0, 1.0, -1.0]) if mirrored else np.ones(3)
    return replace(
        loads, settled=loads.settled @ both.T, misfit=loads.misfit @ both.T, strain=loads.strain * signs
    )


@quick
@given(seeds, st.booleans())
def test_forced_movements_seen_from_elsewhere_or_in_a_mirror(seed, mirrored):
    frame, loads = full_frame(seed)
    loads = forced(frame, loads, seed)
    turn = Rotation.random(random_state=seed).as_matrix() @ np.diag([1.0, -1.0 if mirrored else 1.0, 1.0])
    there, plain, both = moved_rigidly(frame, loads, turn, np.array([3.0, -2.0, 5.0]))
    loads_there = replace(turned(loads, both, mirrored), nodal=plain.nodal, line=plain.line)
    here, moved = solve(frame, loads), solve(there, loads_there)
    assert worst(moved.displacements, here.displacements @ both.T) < AGREED
    assert worst(moved.reactions, here.reactions @ both.T) < AGREED


@quick
@given(seeds)
def test_sums_of_forced_movements_give_sums_of_answers(seed):
    frame, loads = full_frame(seed)
    loads = forced(frame, loads, seed)
    factors = np.random.default_rng(seed).uniform(-2.0, 2.0, 3)
    names = ("nodal", "line", "settled", "misfit", "strain")
    mixed = Loads(("sum",), *(np.tensordot(factors, getattr(loads, name), 1)[None] for name in names))
    parts, whole = solve(frame, loads), solve(frame, mixed)
    for name in ("displacements", "reactions", "end_forces"):
        assert worst(getattr(whole, name)[0], np.tensordot(factors, getattr(parts, name), 1)) < AGREED
    assert balance(frame, loads, parts).relative < AGREED


@quick
@given(seeds)
def test_loads_work_on_forced_movements_as_their_forces_on_gaps_and_warmth(seed):
    """Maxwell-Betti with dislocations: loads and reactions of a along the movements of b.

    Equal to the end forces of a on the gaps of b, and its section forces on the free strains of b.
    """
    frame, loads = full_frame(seed)
    other = replace(forced(frame, loads, seed), nodal=0 * loads.nodal, line=0 * loads.line)
    a, b = solve(frame, loads), solve(frame, other)
    points, weights = np.polynomial.legendre.leggauss(5)
    fractions, lengths = (points + 1) / 2, frame.geometry.lengths
    along = member_displacements(frame, other, b, fractions)
    work = np.einsum("cni,cni->c", loads.nodal, b.displacements)
    work += np.einsum("cni,cni->c", a.reactions, other.settled)
    work += np.einsum("cmi,cmsi,s,m->c", loads.line, along[..., :3], weights / 2, lengths)
    sections = member_forces(frame, loads, a, fractions)[1][..., [0, 4, 5]]
    spent = np.einsum("cmsi,cmi,s,m->c", sections, other.strain, weights / 2, lengths)
    ends = np.einsum(
        "mij,cmekj->cmeki", frame.geometry.axes, other.misfit.reshape(*other.misfit.shape[:3], 2, 3)
    )
    spent += np.einsum("cmx,cmx->c", a.end_forces, ends.reshape(a.end_forces.shape))
    assert worst(work, spent) < AGREED


@quick
@given(seeds)
def test_turning_everything_turns_its_forces(seed):
    """Geometric stiffness on a rigid turn: forces turn with it, moments half (semitangential)."""
    frame, loads = full_frame(seed)
    frame = replace(frame, releases=())
    loads = replace(loads, line=0 * loads.line)
    solution, system = solve(frame, loads), assemble(frame)
    blocks = geometric_blocks(frame, system, solution.end_forces[0], loads.line[0])
    theta = np.random.default_rng(seed).standard_normal(3)
    rigid = np.stack([np.cross(theta, frame.nodes), np.broadcast_to(theta, frame.nodes.shape)], axis=1)
    found = (blocks @ rigid[frame.ends].reshape(-1, 12)[..., None])[..., 0].reshape(-1, 2, 2, 3)
    at_nodes = to_nodes(solution.end_forces[0][..., None], frame.geometry, frame.offsets).reshape(-1, 2, 2, 3)
    expected = np.cross(theta, at_nodes) * np.array([1.0, 0.5])[:, None]
    assert worst(found, expected) < AGREED
    assert worst(blocks, blocks.transpose(0, 2, 1)) < 1e-12


def lightly_loaded(seed):
    """A share of the loads that the frame bears well, so that second order finds an answer."""
    frame, loads = full_frame(seed)
    loads = loads.case(0)
    lowest = buckling(frame, loads, 1, 1)[0].factors[:1]
    share = float(0.2 * min([*lowest, 5.0]))
    return frame, replace(loads, nodal=share * loads.nodal, line=share * loads.line)


@quick
@given(seeds, st.booleans())
def test_second_order_and_buckling_seen_from_elsewhere_or_in_a_mirror(seed, mirrored):
    frame, loads = lightly_loaded(seed)
    turn = Rotation.random(random_state=seed).as_matrix() @ np.diag([1.0, -1.0 if mirrored else 1.0, 1.0])
    there, loads_there, both = moved_rigidly(frame, loads, turn, np.array([0.5, -0.3, 0.2]))
    here, moved = second_order(frame, loads), second_order(there, loads_there)
    assert worst(moved.displacements, here.displacements @ both.T) < AGREED
    assert worst(moved.reactions, here.reactions @ both.T) < AGREED
    one, other = buckling(frame, loads, 2, 2)[0], buckling(there, loads_there, 2, 2)[0]
    assert worst(other.factors, one.factors) < AGREED


@quick
@given(seeds, st.floats(0.01, 100.0))
def test_twice_the_load_is_half_the_factor(seed, times):
    frame, loads = full_frame(seed)
    more = replace(loads, nodal=times * loads.nodal, line=times * loads.line)
    for one, other in zip(buckling(frame, loads, 2, 1), buckling(frame, more, 2, 1), strict=True):
        assert worst(other.factors * times, one.factors) < AGREED


def weighted(frame, seed):
    rng = np.random.default_rng(seed)
    root = rng.standard_normal((3, 3))
    return [LumpedMass(3, 12.0, rng.uniform(-0.2, 0.2, 3), 0.1 * root @ root.T)]


@quick
@given(seeds, st.booleans())
def test_modes_seen_from_elsewhere_or_in_a_mirror(seed, mirrored):
    frame, loads = full_frame(seed)
    turn = Rotation.random(random_state=seed).as_matrix() @ np.diag([1.0, -1.0 if mirrored else 1.0, 1.0])
    there, _, _ = moved_rigidly(frame, loads, turn, np.array([3.0, -2.0, 5.0]))
    (lump,) = weighted(frame, seed)
    lump_there = replace(lump, offset=turn @ lump.offset, inertia=turn @ lump.inertia @ turn.T)
    here, moved = modes(frame, [lump], 5, 1), modes(there, [lump_there], 5, 1)
    assert worst(moved.frequencies, here.frequencies) < AGREED


@quick
@given(seeds)
def test_frequencies_and_factors_do_not_know_units(seed):
    """Millimetres, newtons and tonnes; the second stays."""
    frame, loads = full_frame(seed)
    ratio = np.array([1.0] * 3 + [1e3] * 3)
    there = replace(
        frame,
        nodes=frame.nodes * 1e3,
        offsets=frame.offsets * 1e3,
        elastic_modulus=frame.elastic_modulus * 1e-6,
        shear_modulus=frame.shear_modulus * 1e-6,
        area=frame.area * 1e6,
        second_moment_y=frame.second_moment_y * 1e12,
        second_moment_z=frame.second_moment_z * 1e12,
        torsion_constant=frame.torsion_constant * 1e12,
        shear_area_y=frame.shear_area_y * 1e6,
        shear_area_z=frame.shear_area_z * 1e6,
        density=frame.density * 1e-12,
        springs=tuple(
            replace(s, stiffness=s.stiffness * 1e-3 * np.outer(ratio, ratio)) for s in frame.springs
        ),
    )
    (lump,) = weighted(frame, seed)
    lump_there = LumpedMass(3, lump.mass * 1e-3, lump.offset * 1e3, lump.inertia * 1e3)
    here, other = modes(frame, [lump], 5, 1), modes(there, [lump_there], 5, 1)
    assert worst(other.frequencies, here.frequencies) < AGREED
    loads_there = Loads(loads.case_names, loads.nodal * ratio, loads.line * 1e-3)
    for one, two in zip(buckling(frame, loads, 2, 1), buckling(there, loads_there, 2, 1), strict=True):
        assert worst(two.factors, one.factors) < AGREED


@quick
@given(seeds)
def test_all_modes_together_carry_all_the_mass(seed):
    frame, _ = full_frame(seed)
    found = modes(frame, weighted(frame, seed), 10_000, 1)
    assert np.abs(found.shares.sum(axis=0) - 1.0).max() < AGREED
    assert (np.diff(found.frequencies) >= 0.0).all()
