"""The tubes under load as glTF: their highest stress as colours, the bent shape as a second set of tubes.

Every tube is there twice, `NAME` as it stands and `NAME bent` as it moves in the case that moves it farthest,
so many times too large as the scene's name says. Colours run from pale over yellow to red with the share of
the allowable stress of any case; grey where the strength is not known. Axes as in the other model.
"""

from typing import TYPE_CHECKING, Any

import numpy as np
import trimesh
from numpy.typing import NDArray

from soapstone.frame.idealise import Idealised
from soapstone.parts.bent_part import BentPart, outside_rings
from soapstone.parts.ends import TubePart
from soapstone.parts.layout import Tube
from soapstone.shop.drawing import rings
from soapstone.shop.frame_pictures import bent_lines, exaggeration, stress_shares

if TYPE_CHECKING:
    from soapstone.build import Build

Array = NDArray[np.float64]
_SHARES = (0.0, 0.5, 1.0)
_COLOURS = ((0.86, 0.86, 0.82), (0.93, 0.76, 0.25), (0.72, 0.11, 0.08))
_UNKNOWN = (0.5, 0.5, 0.5)
_FAINT = 90
_CHORD = 5e-4
"""m that the chords of a bend may miss its axis by, on the screen."""


def colours(share: Array) -> NDArray[np.uint8]:
    """(n, 4) red, green, blue, opacity for shares (n,) of the allowable stress; beyond 1 as at 1."""
    known = np.where(np.isnan(share), 0.0, share)
    mixed = np.stack(
        [np.interp(known, _SHARES, [c[i] for c in _COLOURS]) for i in range(3)] + [np.ones_like(known)],
        axis=1,
    )
    mixed[np.isnan(share), :3] = _UNKNOWN
    return np.round(255.0 * mixed).astype(np.uint8)


def loaded_glb(build: "Build") -> bytes:
    """A binary glTF file, the same for the same build."""
    ideal, whole, _ = build.bounds.governing
    share = stress_shares(build.layout, build.bounds.solved)
    case = int(np.linalg.norm(whole.solution.displacements[..., :3], axis=2).max(axis=1).argmax())
    lines = bent_lines(ideal, whole.solution, case)
    times = exaggeration(lines)
    name = f"{ideal.loads.case_names[case]}, movement {times:g} times too large"
    scene: Any = trimesh.Scene(base_frame=name)
    for tube, part in build.parts.both.items():
        skin, stations = _skin(build.layout.tubes[tube], part)
        paint = colours(_along(ideal, tube, stations, share))
        moves = np.stack([_along(ideal, tube, stations, lines.moved[..., i]) for i in range(3)], axis=1)
        faint = paint.copy()
        faint[:, 3] = _FAINT
        at = skin.reshape(-1, 3)
        _add(scene, tube, at, skin.shape[:2], faint)
        _add(scene, f"{tube} bent", at + times * moves, skin.shape[:2], paint)
    return bytes(scene.export(file_type="glb", include_normals=False))


def _skin(tube: Tube, part: TubePart | BentPart) -> tuple[Array, Array]:
    """Rings round the outside (n, m, 3) m, and the station (n m,) m on the tube of each of their points."""
    if isinstance(part, BentPart):
        skin, at = outside_rings(part, _CHORD), part.path.chords(_CHORD)
        return skin, np.repeat(at, skin.shape[1])
    skin = rings(part)
    return skin, ((skin - tube.start) @ tube.axis).ravel()


def _add(scene: Any, name: str, at: Array, shape: tuple[int, int], paint: NDArray[np.uint8]) -> None:
    """The outside of a tube from its rings of points; the vehicle's axes turn cyclically into glTF's."""
    mesh: Any = trimesh.Trimesh(at[:, [1, 2, 0]], _triangles(*shape), vertex_colors=paint, process=False)
    scene.add_geometry(mesh, node_name=name, geom_name=name)


def _triangles(count: int, around: int) -> NDArray[np.int64]:
    """Between `count` rings of `around` points each, outside outward."""
    first = (np.arange(count - 1)[:, None] * around + np.arange(around)).ravel()
    beside = (np.arange(count - 1)[:, None] * around + (np.arange(around) + 1) % around).ravel()
    return np.concatenate(
        [
            np.column_stack([first, beside, beside + around]),
            np.column_stack([first, beside + around, first + around]),
        ]
    )


def _along(ideal: Idealised, tube: str, stations: Array, values: Array) -> Array:
    """Values given at even stations of every beam (m, s), read off at stations (n,) of a tube."""
    segments = ideal.segments[tube]
    at = np.concatenate([np.linspace(s.start, s.end, values.shape[1]) for s in segments])
    told = np.concatenate([values[s.member] for s in segments])
    found: Array = np.interp(stations, at, told)
    return found
