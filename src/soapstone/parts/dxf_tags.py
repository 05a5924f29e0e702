"""The tags of a DXF file, ASCII or binary: sections, blocks and entities, whatever version wrote them.

Only what an outline needs is looked at, so that a file with damaged tables or missing subclass marks is
still read, and one that cannot be is refused in one line that says where.
"""

import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.tagger import binary_tags_loader

from soapstone.errors import GeometryError

_BINARY = b"AutoCAD Binary DXF"
_SAVE_AS = "save the drawing as a DXF of version 2010 and try again"


@dataclass(frozen=True)
class Entity:
    """One entity.

    Attributes
    ----------
    kind : str
        `LINE`, `ARC`, ...
    tags : tuple of (int, str)
        Group code and value, in the file's order.
    place : str
        Where it stands in the file.
    """

    kind: str
    tags: tuple[tuple[int, str], ...]
    place: str

    def text(self, code: int, default: str = "") -> str:
        """The first value of a group code."""
        return next((value for own, value in self.tags if own == code), default)

    def number(self, code: int, default: float | None = None) -> float:
        """The first value of a group code as a number; refused by name when it is missing or none."""
        found = next((value for own, value in self.tags if own == code), None)
        if found is None:
            if default is None:
                raise self.damaged(f"has no group {code}")
            return default
        return self._number(code, found)

    def numbers(self, code: int) -> list[float]:
        """All values of a group code."""
        return [self._number(code, value) for own, value in self.tags if own == code]

    def whole(self, code: int, default: int = 0) -> int:
        """The first value of a group code as a whole number."""
        return int(self.number(code, float(default)))

    def damaged(self, why: str) -> GeometryError:
        """The one line for an entity that cannot be read."""
        return GeometryError(f"its {self.kind} at {self.place} is damaged: it {why}", remedy=_SAVE_AS)

    def _number(self, code: int, text: str) -> float:
        try:
            number = float(text)
        except ValueError:
            raise self.damaged(f"has {text.strip()[:20]!r} for a number in group {code}") from None
        if number != number or number in (float("inf"), -float("inf")):
            raise self.damaged(f"has no number in group {code}")
        return number


@dataclass
class Drawing:
    """A DXF file taken apart.

    Attributes
    ----------
    header : header variable to its first value
    model : entities of the model space
    blocks : block name to its base point (x, y) and entities
    paper : paper layout to its number of entities, empty ones left out
    """

    header: dict[str, str] = field(default_factory=dict)
    model: list[Entity] = field(default_factory=list)
    blocks: dict[str, tuple[tuple[float, float], list[Entity]]] = field(default_factory=dict)
    paper: dict[str, int] = field(default_factory=dict)


def read_drawing(data: bytes) -> Drawing:
    """Take a file apart.

    Raises
    ------
    GeometryError
        It is no DXF, or breaks off; says in which line.
    """
    entities = list(_entities(_binary(data) if data.startswith(_BINARY) else _ascii(data)))
    drawing = Drawing()
    layouts: dict[str, str] = {}
    records: dict[str, str] = {}
    section, block = "", ""
    active = 0
    for entity in entities:
        if entity.kind == "SECTION":
            section, block = entity.text(2), ""
            if section == "HEADER":
                drawing.header = _header(entity)
        elif entity.kind in ("ENDSEC", "EOF"):
            section = ""
        elif section == "BLOCKS":
            block = _into_block(drawing, block, entity)
        elif section == "ENTITIES":
            if entity.whole(67):
                active += entity.kind not in ("VERTEX", "SEQEND", "VIEWPORT")
            else:
                drawing.model.append(entity)
        elif section == "TABLES" and entity.kind == "BLOCK_RECORD":
            records[entity.text(2).upper()] = entity.text(340).upper()
        elif section == "OBJECTS" and entity.kind == "LAYOUT":
            layouts[entity.text(5).upper()] = _layout_name(entity)
    _paper(drawing, records, layouts, active)
    return drawing


def _into_block(drawing: Drawing, block: str, entity: Entity) -> str:
    if entity.kind == "BLOCK":
        name = entity.text(2)
        drawing.blocks[name.upper()] = ((entity.number(10, 0.0), entity.number(20, 0.0)), [])
        return name.upper()
    if entity.kind == "ENDBLK":
        return ""
    if block:
        drawing.blocks[block][1].append(entity)
    return block


def _paper(drawing: Drawing, records: Mapping[str, str], layouts: Mapping[str, str], active: int) -> None:
    """How many entities each paper layout holds; the one in use stands among the entities."""
    for name in [name for name in drawing.blocks if name.startswith("*PAPER_SPACE")]:
        _, own = drawing.blocks.pop(name)
        count = sum(entity.kind not in ("VERTEX", "SEQEND", "VIEWPORT") for entity in own)
        count += active if name == "*PAPER_SPACE" else 0
        if count:
            drawing.paper[layouts.get(records.get(name, ""), name.strip("*").lower())] = count
    if active and not any(drawing.paper.values()):
        drawing.paper["paper space"] = active
    drawing.blocks.pop("*MODEL_SPACE", None)


def _layout_name(entity: Entity) -> str:
    """Code 1 after the mark AcDbLayout: an earlier one is the page set-up's."""
    names = [value for code, value in entity.tags if code == 1]
    return names[-1] if names else "paper space"


def _header(entity: Entity) -> dict[str, str]:
    found: dict[str, str] = {}
    name = ""
    for code, value in entity.tags:
        if code == 9:
            name = value
        elif name and name not in found:
            found[name] = value
    return found


def _entities(tags: Iterator[tuple[int, str, str]]) -> Iterator[Entity]:
    kind, where = "", ""
    own: list[tuple[int, str]] = []
    for code, value, place in tags:
        if code == 0:
            if kind:
                yield Entity(kind, tuple(own), where)
            kind, own, where = value.strip().upper(), [], place
        elif code != 999:
            own.append((code, value))
    if not kind:
        raise GeometryError("this is no DXF file", remedy=_SAVE_AS)
    yield Entity(kind, tuple(own), where)


def _ascii(data: bytes) -> Iterator[tuple[int, str, str]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for row in range(0, len(lines) - 1, 2):
        try:
            code = int(lines[row])
        except ValueError:
            if not "".join(lines[row:]).strip():
                return
            told = lines[row].strip()[:20]
            what = f"line {row + 1} has {told!r} where a group code belongs"
            raise GeometryError(f"this is no whole DXF file: {what}", remedy=_SAVE_AS) from None
        yield code, lines[row + 1].strip(), f"line {row + 1}"


def _binary(data: bytes) -> Iterator[tuple[int, str, str]]:
    try:
        for number, tag in enumerate(binary_tags_loader(data), 1):
            yield int(tag.code), str(tag.value), f"tag {number}"
    except (DXFError, ValueError, IndexError, LookupError, struct.error) as error:
        why = (str(error).splitlines() or ["it breaks off"])[0]
        raise GeometryError(f"this is no whole binary DXF file: {why}", remedy=_SAVE_AS) from None
