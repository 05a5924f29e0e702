"""The three weld beads and the bench's own strokes, as SVG."""

from soapstone.finding import Verdict

_BEADS = {
    Verdict.HOLDS: '<path d="M3 8c4-4 7-4 10-1s7 3 10 0 6-3 10 1"/>',
    Verdict.SHORT: '<path d="M3 7h12M21 7h12M16 12l4-10"/>',
    Verdict.OPEN: '<path d="M5 7h.01M14 7h.01M23 7h.01M32 7h.01" stroke-width="5"/>',
}


def bead(verdict: Verdict) -> str:
    """Whole, cracked, or a row of tacks; the word must stand beside it."""
    return (
        f'<svg class="bead {verdict}" viewBox="0 0 36 14" width="36" height="14" aria-hidden="true" '
        f'fill="none" stroke="currentColor" stroke-width="3" stroke-linecap="round">{_BEADS[verdict]}</svg>'
    )
