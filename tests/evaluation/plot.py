"""The reliability diagram of docs/evaluation.md, as SVG: what was said against what is right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape

import pandas as pd

SIDE, LEFT, TOP, GAP = 300, 52, 34, 70
"""Of a panel, in pixels: its side, the room left of it, above it and between panels."""

LEAST = 0.3
"""Where both axes begin."""

TICKS = (0.4, 0.6, 0.8, 1.0)
STYLE = (
    "text{font:12px system-ui,sans-serif;fill:#222}.frame{fill:#fff;stroke:#999}.grid{stroke:#e5e5e5}"
    ".even{stroke:#999;stroke-dasharray:4 4}.interval{stroke:#1b6ca8;stroke-width:2}.dot{fill:#1b6ca8}"
)


def reliability_svg(panels: Mapping[str, pd.DataFrame]) -> str:
    """A panel for each table of `held.reliability`, by its title. Dots on the dashed line are calibrated."""
    width = LEFT + len(panels) * (SIDE + GAP)
    height = TOP + SIDE + 46
    drawn = "\n".join(
        line for number, (title, table) in enumerate(panels.items()) for line in _panel(number, title, table)
    )
    about = "Of what was said with each probability, the share that is right: dots near the dashed line are calibrated."
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" aria-labelledby="title about">\n<title id="title">Said and right</title>\n'
        f'<desc id="about">{about}</desc>\n<style>{STYLE}</style>\n'
        f'<rect width="{width}" height="{height}" fill="#fff"/>\n{drawn}\n</svg>\n'
    )


def _panel(number: int, title: str, table: pd.DataFrame) -> Iterator[str]:
    left = LEFT + number * (SIDE + GAP)

    def across(value: float) -> str:
        return f"{left + SIDE * (value - LEAST) / (1 - LEAST):.1f}"

    yield f'<text x="{left}" y="{TOP - 12}" font-weight="bold">{escape(title)}</text>'
    yield f'<rect class="frame" x="{left}" y="{TOP}" width="{SIDE}" height="{SIDE}"/>'
    for tick in TICKS:
        yield f'<line class="grid" x1="{left}" x2="{left + SIDE}" y1="{_down(tick)}" y2="{_down(tick)}"/>'
        yield f'<text x="{left - 8}" y="{_down(tick)}" text-anchor="end" dominant-baseline="middle">{tick:.1f}</text>'
        yield f'<text x="{across(tick)}" y="{TOP + SIDE + 18}" text-anchor="middle">{tick:.1f}</text>'
    yield f'<line class="even" x1="{left}" y1="{TOP + SIDE}" x2="{left + SIDE}" y2="{TOP}"/>'
    yield f'<text x="{left + SIDE / 2:.0f}" y="{TOP + SIDE + 38}" text-anchor="middle">said to be right</text>'
    middle = TOP + SIDE / 2
    turned = f'transform="translate({left - 38} {middle:.0f}) rotate(-90)"'
    yield f'<text {turned} text-anchor="middle">share that is right</text>'
    for _, _, count, said, right, least, most in table[table["count"] > 0].itertuples(index=False, name=None):
        yield f'<line class="interval" x1="{across(said)}" x2="{across(said)}" y1="{_down(least)}" y2="{_down(most)}"/>'
        yield (
            f'<circle class="dot" cx="{across(said)}" cy="{_down(right)}" r="4">'
            f"<title>said {said:.3f}, right {right:.3f} of {int(count):,}</title></circle>"
        )


def _down(value: float) -> str:
    return f"{TOP + SIDE * (1 - max(value, LEAST)) / (1 - LEAST):.1f}"
