"""What must hold for every frame. 1e-8 of the largest entry; the frames' condition near 1e6 leaves 1e-10."""

from dataclasses import replace

import numpy as np
import pytest
from frame_kit import random_frame, worst
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from soapstone.errors import LooseError
from soapstone.frame import Loads, Release, Spring, balance, member_displacements, member_forces, solve

AGREED = 1e-8
seeds = st.integers(0, 10_000)
quick = settings(deadline=None, max_examples=15)


def full_frame(seed):
    """A random frame with arms, releases about skew axes, springs, and joints held in full or not at all."""
    frame, loads = random_frame(seed, arms=True)
    rng = np.random.default_rng(seed)
    n, m = len(frame.nodes), len(frame.ends)
    held = np.zeros((n, 6), dtype=bool)
    held[[0, -1]] = True
    releases = tuple(
        Release(int(i), int(rng.integers(0, 2)), rng.standard_normal(3), kind)
        for i, kind in zip(
            rng.choice(m, 3, replace=False), ("rotation", "rotation", "translation"), strict=True
        )
    )
    root = rng.standard_normal((2, 6, 6))
    stiffness = 1e5 * root @ root.transpose(0, 2, 1)
    springs = (Spring(1, stiffness[0]), Spring(2, stiffness[1], 4))
    return replace(frame, held=held, releases=releases, springs=springs), loads


def moved_rigidly(frame, loads, turn, shift):
    """The same frame and loads turned (3, 3) and shifted (3,); a turn of determinant -1 mirrors them.

    Moments and turns are axial: a mirror turns them the other way.
    """
    axial = turn * np.linalg.det(turn)
    both = np.kron(np.diag([1.0, 0.0]), turn) + np.kron(np.diag([0.0, 1.0]), axial)
    releases = tuple(
        replace(r, axis=(axial if r.kind == "rotation" else turn) @ r.axis) for r in frame.releases
    )
    springs = tuple(replace(s, stiffness=_even(both @ s.stiffness @ both.T)) for s in frame.springs)
    there = replace(
        frame,
        nodes=frame.nodes @ turn.T + shift,
        offsets=frame.offsets @ turn.T,
        up=frame.up @ turn.T,
        releases=releases,
        springs=springs,
    )
    return there, Loads(loads.case_names, loads.nodal @ both.T, loads.line @ turn.T), both


def _even(matrix):
    return (matrix + matrix.T) / 2


@quick
@given(seeds)
def test_a_frame_turned_and_shifted_gives_the_answer_turned(seed):
    frame, loads = full_frame(seed)
    turn = Rotation.random(random_state=seed).as_matrix()
    there, loads_there, both = moved_rigidly(frame, loads, turn, np.array([3.0, -2.0, 5.0]))
    here, moved = solve(frame, loads), solve(there, loads_there)
    assert worst(moved.displacements, here.displacements @ both.T) < AGREED
    assert worst(moved.reactions, here.reactions @ both.T) < AGREED
    assert worst(moved.end_forces, here.end_forces) < AGREED


@quick
@given(seeds)
def test_mirroring_left_and_right_mirrors_the_answer(seed):
    frame, loads = full_frame(seed)
    mirror = np.diag([1.0, -1.0, 1.0])
    there, loads_there, both = moved_rigidly(frame, loads, mirror, np.zeros(3))
    here, moved = solve(frame, loads), solve(there, loads_there)
    assert worst(moved.displacements, here.displacements @ both.T) < AGREED
    assert worst(moved.reactions, here.reactions @ both.T) < AGREED
    # Local y = up x x is axial: it turns round in a mirror, and with it every sign that changes with y.
    signs = np.tile([1.0, -1.0, 1.0, -1.0, 1.0, -1.0], 2)
    assert worst(moved.end_forces, here.end_forces * signs) < AGREED


@quick
@given(seeds)
def test_sums_of_loads_give_sums_of_answers(seed):
    frame, loads = full_frame(seed)
    factors = np.random.default_rng(seed).uniform(-2.0, 2.0, 3)
    mixed = Loads(
        ("sum",), np.tensordot(factors, loads.nodal, 1)[None], np.tensordot(factors, loads.line, 1)[None]
    )
    parts, whole = solve(frame, loads), solve(frame, mixed)
    for name in ("displacements", "reactions", "end_forces"):
        total = np.tensordot(factors, getattr(parts, name), 1)
        assert worst(getattr(whole, name)[0], total) < AGREED


@quick
@given(seeds)
def test_one_load_works_along_the_other_as_much_as_the_other_along_the_one(seed):
    """Maxwell-Betti, with nodal and line loads; energy and work agree as well."""
    frame, loads = full_frame(seed)
    solution = solve(frame, loads)
    points, weights = np.polynomial.legendre.leggauss(4)
    along = member_displacements(frame, loads, solution, (points + 1) / 2)
    lengths = frame.geometry.lengths
    work = np.einsum("ani,bni->ab", loads.nodal, solution.displacements)
    work += np.einsum("ami,bmsi,s,m->ab", loads.line, along[..., :3], weights / 2, lengths)
    assert worst(work, work.T) < AGREED
    stored = strain_energy(frame, loads, solution) + spring_energy(frame, solution)
    assert worst(stored, np.diag(work) / 2) < AGREED


def strain_energy(frame, loads, solution):
    """Of the members, from their section forces (exact: polynomials of degree 4)."""
    points, weights = np.polynomial.legendre.leggauss(5)
    _, forces = member_forces(frame, loads, solution, (points + 1) / 2)
    E, G = frame.elastic_modulus, frame.shear_modulus
    stiffness = np.stack(
        [
            E * frame.area,
            G * frame.shear_area_y,
            G * frame.shear_area_z,
            G * frame.torsion_constant,
            E * frame.second_moment_y,
            E * frame.second_moment_z,
        ]
    )
    return np.einsum("cmsi,im,s,m->c", forces**2, 1 / stiffness, weights / 4, frame.geometry.lengths)


def spring_energy(frame, solution):
    energy = np.zeros(len(solution.displacements))
    for spring in frame.springs:
        relative = solution.displacements[:, spring.node].copy()
        if spring.other is not None:
            other = solution.displacements[:, spring.other]
            arm = frame.nodes[spring.node] - frame.nodes[spring.other]
            relative[:, :3] -= other[:, :3] + np.cross(other[:, 3:], arm)
            relative[:, 3:] -= other[:, 3:]
        energy += 0.5 * np.einsum("ci,ij,cj->c", relative, spring.stiffness, relative)
    return energy


@quick
@given(seeds, st.sampled_from([(1e3, 1.0), (39.37007874015748, 0.2248089431)]))
def test_other_units_give_the_same_frame(seed, units):
    """Millimetres and newtons, inches and pounds."""
    length, force = units
    frame, loads = full_frame(seed)
    ratio = np.array([1.0] * 3 + [length] * 3)
    stiff = force / length * np.outer(ratio, ratio)
    there = replace(
        frame,
        nodes=frame.nodes * length,
        offsets=frame.offsets * length,
        elastic_modulus=frame.elastic_modulus * force / length**2,
        shear_modulus=frame.shear_modulus * force / length**2,
        area=frame.area * length**2,
        second_moment_y=frame.second_moment_y * length**4,
        second_moment_z=frame.second_moment_z * length**4,
        torsion_constant=frame.torsion_constant * length**4,
        shear_area_y=frame.shear_area_y * length**2,
        shear_area_z=frame.shear_area_z * length**2,
        springs=tuple(replace(s, stiffness=s.stiffness * stiff) for s in frame.springs),
    )
    loads_there = Loads(loads.case_names, loads.nodal * force * ratio, loads.line * force / length)
    here, other = solve(frame, loads), solve(there, loads_there)
    assert worst(other.displacements / (length / ratio), here.displacements) < AGREED
    assert worst(other.reactions / (force * ratio), here.reactions) < AGREED


@quick
@given(seeds)
def test_everything_balances_and_releases_carry_nothing(seed):
    frame, loads = full_frame(seed)
    solution = solve(frame, loads)
    assert balance(frame, loads, solution).relative < AGREED
    for release in frame.releases:
        part = slice(6 * release.end + 3 * (release.kind == "rotation"), None)
        axis = frame.geometry.axes[release.member] @ release.axis
        carried = solution.end_forces[:, release.member, part][:, :3] @ axis
        assert np.abs(carried).max() < AGREED * np.abs(solution.end_forces).max()


@quick
@given(seeds)
def test_the_order_of_releases_at_a_member_does_not_matter(seed):
    frame, loads = full_frame(seed)
    axes = np.random.default_rng(seed).standard_normal((4, 3))
    releases = [
        Release(0, 0, axes[0]),
        Release(0, 0, axes[1]),
        Release(0, 1, axes[2]),
        Release(0, 1, axes[3]),
    ]
    one = solve(replace(frame, releases=tuple(releases)), loads)
    other = solve(replace(frame, releases=tuple(reversed(releases))), loads)
    assert worst(other.displacements, one.displacements) < AGREED
    assert worst(other.end_forces, one.end_forces) < AGREED


@quick
@given(seeds, st.floats(-6.0, 6.0))
def test_a_loaded_hinge_is_found_however_stiff_its_neighbours(seed, decades):
    frame, loads = random_frame(seed)
    node = 2
    axis = np.random.default_rng(seed).standard_normal(3)
    releases = tuple(Release(m, e, axis) for m, e in np.argwhere(frame.ends == node).tolist())
    stiffer = frame.elastic_modulus.copy()
    stiffer[::2] *= 10.0**decades
    hinged = replace(frame, releases=releases, elastic_modulus=stiffer)
    hinged.held[node] = False
    with pytest.raises(LooseError, match=r"joint joint_2 can spin about .* free to give way"):
        solve(hinged, loads)
    quiet = Loads(loads.case_names, np.where(np.arange(6) < 3, loads.nodal, 0.0), loads.line)
    solution = solve(hinged, quiet)
    assert len(solution.idle) == 1
    assert balance(hinged, quiet, solution).relative < 1e-4 * 10.0 ** max(0.0, abs(decades) - 6)


@quick
@given(seeds)
def test_cutting_a_frame_free_is_always_noticed(seed):
    frame, loads = random_frame(seed)
    with pytest.raises(LooseError, match="the whole frame can"):
        solve(replace(frame, held=np.zeros_like(frame.held)), loads)
    one_hinge = np.zeros_like(frame.held)
    one_hinge[0, [0, 1, 2, 3, 4]] = True
    with pytest.raises(LooseError, match="the whole frame can swing about the upright line"):
        solve(replace(frame, held=one_hinge), loads)
