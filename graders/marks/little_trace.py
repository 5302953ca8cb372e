"""The needle around the moment that matters, drawn small enough to stand beside a sentence."""

from __future__ import annotations

from html import escape

from graders.marks.verdict import Finding, Verdict
from workbook.core.language import _, number
from workbook.core.quantities import plain

WIDTH, HEIGHT, LEFT, FOOT = 300, 110, 34, 22  # px
STEP = 10.0  # cmH2O between the lines of the scale


def traces(verdict: Verdict) -> str:
    """Return the little traces of a verdict as HTML; empty when it has none."""
    shown = [_figure(finding) for finding in verdict.findings if finding.trace]
    return f"<div>{''.join(shown)}</div>" if shown else ""


def _figure(finding: Finding) -> str:
    style = "display:inline-block;margin:0.5rem 1.5rem 0.5rem 0;max-width:20rem;vertical-align:top"
    says = escape(finding.says.split(". ")[0].rstrip(".") + ".")
    return (
        f'<figure style="{style}">{_svg(finding)}<figcaption>{says} {escape(in_words(finding))}'
        "</figcaption></figure>"
    )


def in_words(finding: Finding) -> str:
    """Return the little trace in a sentence."""
    (first, start), (last, end) = finding.trace[0], finding.trace[-1]
    top = max(pressure for time, pressure in finding.trace)
    start_at, end_at, highest = (plain(pressure, "cmH2O") for pressure in (start, end, top))
    return _(
        "From {first} to {last} s the needle went from {start} to {end}; its highest was {top}."
    ).format(first=f"{first:.0f}", last=f"{last:.0f}", start=start_at, end=end_at, top=highest)


def _svg(finding: Finding) -> str:
    trace = finding.trace
    first, last = trace[0][0], trace[-1][0]
    top = STEP * max(1, -(-max(pressure for time, pressure in trace) // STEP))

    def x(time: float) -> float:
        return LEFT + (WIDTH - LEFT - 4) * (time - first) / max(last - first, 0.1)

    def y(pressure: float) -> float:
        return 6 + (HEIGHT - FOOT - 6) * (1 - pressure / top)

    path = " ".join(f"{x(t):.1f},{y(p):.1f}" for t, p in trace)
    lines = "".join(
        f'<path d="M{LEFT} {y(p):.1f}H{WIDTH - 4}" stroke="currentColor" opacity="0.3"/>'
        f'<text x="{LEFT - 5}" y="{y(p) + 4:.1f}" text-anchor="end">{number(p)}</text>'
        for p in (0.0, top / 2, top)
    )
    return (
        f'<svg role="img" aria-label="{escape(in_words(finding))}" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'width="{WIDTH}" height="{HEIGHT}" font-size="12" font-family="sans-serif" '
        f'fill="currentColor">{lines}'
        f'<polyline points="{path}" fill="none" stroke="currentColor" stroke-width="2"/>'
        f'<text x="{LEFT}" y="{HEIGHT - 4}">{first:.0f} s</text>'
        f'<text x="{WIDTH - 4}" y="{HEIGHT - 4}" text-anchor="end">{last:.0f} s</text></svg>'
    )
