"""A reliability diagram as SVG: what was thought across, what came up, with 80 % intervals."""

from collections.abc import Iterator, Sequence
from typing import Any

from tests.bench.competency_cases import READINESS

SIDE, MARGIN, ACROSS = 300, 46, 2
# The values of both moods; the picture has a ground of its own, so that it stands on either.
STYLE = """
svg{background:#fff}text{font:15px system-ui,sans-serif;fill:#1b2733}.q{fill:#52606d}
.axis{stroke:#7e8894;fill:none}.even{stroke:#52606d;stroke-dasharray:5 4}
.bar{stroke:#0b5c7a;stroke-width:2}.ball{fill:#0b5c7a}
@media(prefers-color-scheme:dark){svg{background:#1f1a15}text{fill:#f1e6d8}.q{fill:#b8aa98}
.axis{stroke:#7c7063}.even{stroke:#b8aa98}.bar{stroke:#e0a458}.ball{fill:#e0a458}}
"""


def drawn(cases: Sequence[dict[str, Any]], *, forecast: str = READINESS) -> str:
    """The diagrams of some cases beside and beneath each other."""
    told = [each for each in cases if forecast in each["reliability"]]
    step = SIDE + 2 * MARGIN
    width, height = step * min(ACROSS, max(len(told), 1)), step * -(-len(told) // ACROSS)
    panels = [
        f'<g transform="translate({step * (at % ACROSS)} {step * (at // ACROSS)})">'
        f"{''.join(_panel(each['name'], each['reliability'][forecast]))}</g>"
        for at, each in enumerate(told)
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img" '
        f'aria-label="What was thought and what came, simulated"><style>{STYLE}</style>'
        f"{''.join(panels)}</svg>\n"
    )


def _panel(name: str, bins: Sequence[dict[str, float]]) -> Iterator[str]:
    low, high = MARGIN, MARGIN + SIDE
    yield f'<text x="{low}" y="{low - 14}">{name}</text>'
    yield f'<path class="axis" d="M{low} {low}V{high}H{high}"/>'
    yield f'<path class="even" d="M{low} {high}L{high} {low}"/>'
    for hundred in (0, 50, 100):
        at = SIDE * hundred // 100
        yield _quiet(low + at, high + 18, str(hundred))
        yield _quiet(low - 6, high - at + 5, str(hundred), anchor="end")
    yield _quiet(low + SIDE // 2, high + 36, "thought, in 100")
    yield f'<g transform="rotate(-90 14 {low + SIDE // 2})">'
    yield f"{_quiet(14, low + SIDE // 2, 'right, in 100')}</g>"
    for each in bins:
        x, y = low + SIDE * each["chance"], high - SIDE * each["share"]
        ends = f"{high - SIDE * each['low']:.1f}V{high - SIDE * each['high']:.1f}"
        yield f'<path class="bar" d="M{x:.1f} {ends}"/>'
        yield f'<circle class="ball" cx="{x:.1f}" cy="{y:.1f}" r="4"/>'


def _quiet(x: int, y: int, words: str, *, anchor: str = "middle") -> str:
    return f'<text class="q" x="{x}" y="{y}" text-anchor="{anchor}">{words}</text>'
