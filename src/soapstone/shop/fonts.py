"""The typefaces of the sheets: from packages, never the machine, so that a page is the same everywhere."""

from functools import cache

import fontpkg_fira_sans
import fontpkg_fira_sans_condensed
import typst

FOLDERS = tuple(str(package.ROOT / "files") for package in (fontpkg_fira_sans, fontpkg_fira_sans_condensed))


@cache
def fonts() -> typst.Fonts:
    """Fira Sans, its condensed cut, and what the typesetter brings for formulas; nothing else."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=list(FOLDERS))
