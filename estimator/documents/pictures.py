"""Pictures of results as inline SVG, readable in grey: reverberation before and after, per octave."""

from html import escape

from estimator.acoustics.report import RoomReport
from estimator.acoustics.reverberation import Reverberation

WIDTH, HEIGHT = 620, 250
LEFT, BOTTOM, TOP = 52, 46, 22
BAR = 26


def reverberation_picture(report: RoomReport) -> str:
    """Return bars from the least to the greatest of four formulas, before (hatched) and after (solid)."""
    most = max([v for s in (report.before, report.after) for v in s.high_s if v is not None] or [1.0])
    top = max(0.2, -(-most // 0.2) * 0.2)
    parts = _axis(top)
    if report.target and report.target.time_s <= top:
        y = _y(report.target.time_s, top)
        ends = f'x1="{LEFT}" x2="{WIDTH - 10}" y1="{y:.1f}" y2="{y:.1f}"'
        parts.append(f'<line {ends} stroke="#000" stroke-dasharray="6 4"/>')
    step = (WIDTH - LEFT - 10) / len(report.octaves_hz)
    for n, hz in enumerate(report.octaves_hz):
        middle = LEFT + step * (n + 0.5)
        octave = f"{hz // 1000} k" if hz >= 1000 else str(hz)  # noqa: PLR2004 - a thousand is a k
        parts.append(f'<text x="{middle:.0f}" y="{HEIGHT - 26}" text-anchor="middle">{octave}</text>')
        for state, offset, fill in ((report.before, -BAR - 2, "url(#before)"), (report.after, 2, "#3d4f4a")):
            parts += _bar(state, n, (middle + offset, top), fill)
    return _framed(parts)


def _y(value: float, top: float) -> float:
    return HEIGHT - BOTTOM - value / top * (HEIGHT - BOTTOM - TOP)


def _axis(top: float) -> list[str]:
    parts = []
    for n in range(round(top / 0.2) + 1):
        y = _y(n * 0.2, top)
        parts.append(f'<line x1="{LEFT}" x2="{WIDTH - 10}" y1="{y:.1f}" y2="{y:.1f}" stroke="#ccc"/>')
        if n % (1 if top <= 2 else 5) == 0:  # noqa: PLR2004 - every fifth line of a tall picture
            parts.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{n * 0.2:.1f}</text>')
    parts.append(f'<text x="{LEFT - 40}" y="13">seconds</text>')
    parts.append(f'<text x="{WIDTH - 10}" y="{HEIGHT - 8}" text-anchor="end">octave, Hz</text>')
    return parts


def _bar(state: Reverberation, n: int, place: tuple[float, float], fill: str) -> list[str]:
    low, high = state.low_s[n], state.high_s[n]
    if low is None or high is None:
        return []
    x, top = place
    upper = _y(high, top)
    height = max(_y(low, top) - upper, 2.0)
    return [
        f'<rect x="{x:.1f}" y="{upper:.1f}" width="{BAR}" height="{height:.1f}" fill="{fill}" stroke="#222"/>'
    ]


def _framed(parts: list[str]) -> str:
    alt = escape(
        "Reverberation time per octave before and after treatment, as a range of four formulas; estimated"
    )
    pattern = (
        '<defs><pattern id="before" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<rect width="6" height="6" fill="#fff"/><path d="M0 6L6 0" stroke="#555"/></pattern></defs>'
    )
    key = (
        f'<rect x="{LEFT}" y="{HEIGHT - 18}" width="14" height="12" fill="url(#before)" stroke="#222"/>'
        f'<text x="{LEFT + 20}" y="{HEIGHT - 8}">before</text>'
        f'<rect x="{LEFT + 80}" y="{HEIGHT - 18}" width="14" height="12" fill="#3d4f4a" stroke="#222"/>'
        f'<text x="{LEFT + 100}" y="{HEIGHT - 8}">after</text>'
        f'<line x1="{LEFT + 150}" x2="{LEFT + 180}" y1="{HEIGHT - 12}" y2="{HEIGHT - 12}" stroke="#000" '
        f'stroke-dasharray="6 4"/><text x="{LEFT + 186}" y="{HEIGHT - 8}">time aimed at, where it fits</text>'
    )
    return (
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" role="img" aria-label="{alt}" '
        f'font-family="sans-serif" font-size="12"><title>{alt}</title>{pattern}{"".join(parts)}{key}</svg>'
    )
