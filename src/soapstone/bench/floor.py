"""The floor: every part as a solid, to turn, to name and to pick."""

import base64
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from nicegui.element import Element
from nicegui.elements import scene as bundled

from soapstone.parts.assembly import Array, Thing

_BUNDLED = Path(bundled.__file__).parent / "dist"


def floor_data(found: Sequence[Thing], points: Mapping[str, Array]) -> dict[str, Any]:
    """Solids and named points for the browser: float32 m and uint32, base64; `of` is its part."""
    return {
        "things": [
            {
                "name": thing.name,
                "of": part_of(thing.name),
                "sort": thing.sort.value,
                "material": thing.material,
                "vertices": _packed(thing.solid.vertices, np.float32),
                "triangles": _packed(thing.solid.triangles, np.uint32),
            }
            for thing in found
        ],
        "points": [{"name": name, "at": [float(part) for part in at]} for name, at in points.items()],
    }


def part_of(name: str) -> str:
    """The job's own name of a piece: `fork_left` for `fork_left tab 2`, `rails` for `rails 3`."""
    head, _, number = name.rpartition(" ")
    return head.removesuffix(" tab") if head and number.isdecimal() else name


def _packed(array: Any, kind: Any) -> str:
    return base64.b64encode(np.ascontiguousarray(array, dtype=kind).tobytes()).decode("ascii")


class Floor(Element, component="floor.js", esm={"nicegui-scene": str(_BUNDLED)}):
    """The 3-D view; emits `pick` with the name of a part, or an empty text."""

    def show(self, address: str) -> None:
        """Take the solids from an address of the bench."""
        self.run_method("show", address)

    def single_out(self, name: str) -> None:
        """Show a part as picked."""
        self.run_method("mark", name)

    def look(self, way: str) -> None:
        """Look `corner`, `side`, `front`, `top`, or `fit` everything."""
        self.run_method("look", way)

    def repaint(self) -> None:
        """Take the colours anew."""
        self.run_method("repaint")
