"""Run every benchmark and print the table; `SPEED_JSON=file` also writes it."""

import json
import os
import sys
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

os.environ.setdefault("OMP_NUM_THREADS", "1")  # before numpy: one thread for us and for the peer alike

ROOMS = ("survey", "cope", "tubes", "frame", "bolt_up", "clearance")


def measured() -> list[dict[str, Any]]:
    """All rows; a room's module gives one mapping or several from its `measure`."""
    rows: list[dict[str, Any]] = []
    for room in ROOMS:
        print(f"measuring {room}", file=sys.stderr)
        found = import_module(f"speed.{room}").measure()
        rows += [dict(found)] if isinstance(found, Mapping) else [dict(row) for row in found]
    return rows


def main() -> int:
    """0 when every goal is met, else 1."""
    rows = measured()
    table = Table(title="times faster than the peer on the same work", box=None, title_justify="left")
    for head in ("", "what", "size", "ours", "peer", "peer took", "ratio", "goal"):
        table.add_column(head, justify="right" if head in ("ours", "peer took", "ratio", "goal") else "left")
    for row in rows:
        table.add_row(
            "holds" if row["holds"] else "short",
            str(row["what"]),
            str(row["size"]),
            f"{1e3 * row['ours_s']:.2f} ms",
            str(row["peer"]),
            f"{1e3 * row['peer_s']:.1f} ms",
            f"{row['ratio']:.1f}",
            f"{row['goal']:g}",
        )
    Console(width=170).print(table)
    if target := os.environ.get("SPEED_JSON"):
        Path(target).write_text(json.dumps(rows, indent=2) + "\n", encoding="utf-8")
    return 0 if all(row["holds"] for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
