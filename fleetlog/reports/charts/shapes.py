"""Each state as a word with a shape of its own, so that nothing rests on colour."""

from __future__ import annotations

from markupsafe import Markup, escape

from fleetlog.domain.words import DUE, LATER, NEEDS_A_READING, NEXT_ACCESS, NO_RECORD, OVERDUE, STATES

_DRAWN = {
    OVERDUE: '<path d="M10 1 19.5 18.5H.5z" fill="currentColor"/>'
    '<path d="M10 7v5.5M10 14.6v1.9" stroke="var(--page)" stroke-width="2" fill="none"/>',
    NO_RECORD: '<rect x="2" y="2" width="16" height="16" fill="none" stroke="currentColor" '
    'stroke-width="2" stroke-dasharray="4 2.4"/>'
    '<path d="M7 7.6C7 3.6 13 3.6 13 7.6 13 10 10 10 10 12.4M10 14v1.8" stroke="currentColor" '
    'stroke-width="2" fill="none"/>',
    NEEDS_A_READING: '<path d="M2 15a8.5 8.5 0 1 1 16 0z" fill="none" stroke="currentColor" '
    'stroke-width="2"/><path d="M10 14 14 7.5" stroke="currentColor" stroke-width="2"/>',
    DUE: '<circle cx="10" cy="10" r="9" fill="currentColor"/>'
    '<path d="M10 4.5V10l3.8 2.6" stroke="var(--page)" stroke-width="2" fill="none"/>',
    NEXT_ACCESS: '<path d="M10 1.2 18.8 10 10 18.8 1.2 10z" fill="none" stroke="currentColor" '
    'stroke-width="2"/><path d="M6.5 10h7" stroke="currentColor" stroke-width="2"/>',
    LATER: '<circle cx="10" cy="10" r="8" fill="none" stroke="currentColor" stroke-width="2"/>',
}


def state_class(state: str) -> str:
    """The name by which the stylesheet and anchors know a state."""
    return state.replace(" ", "-")


def _badge(state: str) -> Markup:
    return Markup(
        f'<span class="state {state_class(state)}"><svg viewBox="0 0 20 20" aria-hidden="true" '
        f'focusable="false">{_DRAWN[state]}</svg>{escape(state)}</span>'
    )


BADGES = {state: _badge(state) for state in STATES}
"""The word of each state with its shape before it."""
