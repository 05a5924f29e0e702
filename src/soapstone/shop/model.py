"""The mount as glTF, for a viewer or a phone: metres, +Y up, +Z forward, named nodes, steel by material.

The vehicle's x forward, y left, z up turn cyclically into Z, X, Y: no mirror, so that left stays left.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import trimesh
from trimesh.visual import TextureVisuals
from trimesh.visual.material import PBRMaterial

from soapstone.parts.assembly import Sort, Thing

_Visual: Any = TextureVisuals
_Metal: Any = PBRMaterial
_STEELS = ((0.50, 0.53, 0.56), (0.60, 0.57, 0.52), (0.42, 0.46, 0.50), (0.66, 0.66, 0.64), (0.45, 0.41, 0.38))
_ENVELOPE = (0.93, 0.91, 0.86, 0.35)
_IN_THE_WAY = (0.55, 0.50, 0.42, 0.45)


def model_glb(found: Sequence[Thing]) -> bytes:
    """A binary glTF file, the same for the same things."""
    steels = steel_tones([thing.material for thing in found if thing.material])
    scene: Any = trimesh.Scene()
    for thing in found:
        mesh = trimesh.Trimesh(thing.solid.vertices[:, [1, 2, 0]], thing.solid.triangles, process=False)
        mesh.visual = _Visual(material=_material(thing, steels))
        scene.add_geometry(mesh, node_name=thing.name, geom_name=thing.name)
    return bytes(scene.export(file_type="glb", include_normals=False))


def steel_tones(materials: Sequence[str]) -> dict[str, tuple[float, float, float]]:
    """A tone (red, green, blue), linear, for each material: the same in every file of a job."""
    return {name: _STEELS[row % len(_STEELS)] for row, name in enumerate(dict.fromkeys(materials))}


def _material(thing: Thing, steels: Mapping[str, tuple[float, float, float]]) -> Any:
    if thing.sort is Sort.BODY or thing.sort is Sort.OBSTACLE:
        colour = _ENVELOPE if thing.sort is Sort.BODY else _IN_THE_WAY
        return _Metal(
            name=thing.sort.value,
            baseColorFactor=np.array(colour),
            metallicFactor=0.0,
            roughnessFactor=0.9,
            alphaMode="BLEND",
            doubleSided=True,
        )
    tone = steels[thing.material]
    return _Metal(
        name=thing.material, baseColorFactor=np.array((*tone, 1.0)), metallicFactor=0.8, roughnessFactor=0.55
    )
