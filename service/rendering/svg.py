"""The parts of a drawing in SVG: one type, three colours, coordinates to a tenth. Text is escaped."""

import math
from collections.abc import Iterable
from xml.sax.saxutils import escape

INK, FAINT, ACCENT = "#1c2733", "#c9d1d8", "#0b5d7a"
Point = tuple[float, float]


def document(width: int, height: int, parts: Iterable[str], alternative: str) -> str:
    """An SVG document of its own; the alternative text is its title."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'role="img" font-family="Open Sans, DejaVu Sans, sans-serif" font-size="7.5" fill="{INK}">'
        f"<title>{escape(alternative)}</title>{''.join(parts)}</svg>"
    )


def line(start: Point, end: Point, style: str) -> str:
    """A straight line."""
    (x1, y1), (x2, y2) = start, end
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" {style}/>'


def text(x: float, y: float, words: str, style: str = "") -> str:
    """A line of text on its baseline."""
    return f'<text x="{x:.1f}" y="{y:.1f}" {style}>{escape(words)}</text>'


def rect(corner: Point, width: float, height: float, style: str) -> str:
    """A rectangle by its upper left corner."""
    x, y = corner
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:g}" {style}/>'


def polyline(corners: Iterable[Point], style: str) -> str:
    """A line through all corners."""
    return f'<polyline points="{points(corners)}" fill="none" stroke="{ACCENT}" {style}/>'


def points(corners: Iterable[Point]) -> str:
    """Corners as the attribute `points`."""
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)


def scale_step(least: float) -> float:
    """The step of a scale: 1, 2 or 5 times a power of ten, at least as large.

    >>> scale_step(4.25), scale_step(0.21)
    (5.0, 0.5)
    """
    power = 10.0 ** math.floor(math.log10(least))
    return float(next(times * power for times in (1, 2, 5, 10) if times * power >= least * 0.999))
