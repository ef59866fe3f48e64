"""The picture of a backtest: what was promised against what was achieved, and the stock that it took."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inventory.lab.plotting import Drawing, PlotLine, PlotMark, PlotText, Point
from inventory.lab.shop_backtest import Tried

INK, SOFT, GRID, OWN_COLOUR = "#1d2a2f", "#4f5d62", "#d9ded6", "#0b5a6b"
OTHER_STYLES = (("#a5281b", "square"), ("#7a4f00", "triangle"), ("#6a5a8c", "diamond"), ("#4f8a5f", "cross"))
WIDTH, HEIGHT = 900, 470
TOP, BOTTOM = 104, 360
LEFT_PANEL, RIGHT_PANEL = (64, 420), (516, 866)
MIN_SHARE, MAX_SHARE = 0.80, 1.0  # shares drawn


@dataclass(frozen=True)
class MethodStyle:
    """How one method is drawn."""

    colour: str
    shape: str
    width: float


@dataclass(frozen=True)
class ChartPanel:
    """A field with two axes: from shares and stock to places on the drawing."""

    left: float
    right: float
    low: float
    high: float

    def at(self, share: float, value: float) -> Point:
        """Return the place of a value over a share."""
        x = self.left + (self.right - self.left) * (share - MIN_SHARE) / (MAX_SHARE - MIN_SHARE)
        y = BOTTOM - (BOTTOM - TOP) * (value - self.low) / (self.high - self.low)
        return round(x, 2), round(y, 2)

    def holds(self, share: float, value: float) -> bool:
        """Tell whether a value lies on the field."""
        return MIN_SHARE - 1e-9 <= share <= MAX_SHARE and self.low - 1e-9 <= value <= self.high + 1e-9


def backtest_picture(tried: Tried) -> Drawing:
    """Lay out the picture of a backtest."""
    styles = {tried.methods[0]: MethodStyle(OWN_COLOUR, "disc", 3.0)}
    for method, (colour, shape) in zip(tried.methods[1:], OTHER_STYLES, strict=True):
        styles[method] = MethodStyle(colour, shape, 1.4)
    shapes = [
        PlotText((20, 30), f"Tried on the past: {tried.source}", 19, bold=True),
        PlotText((20, 52), _subtitle(tried), 13, colour=SOFT),
        *_achieved_panel(tried, styles), *_stock_panel(tried, styles), *_legend(tried.methods, styles),
    ]  # fmt: skip
    return Drawing(WIDTH, HEIGHT, _alt_text(tried), tuple(shapes))


def _subtitle(tried: Tried) -> str:
    score = tried.scores[0]
    horizon = tried.rules.horizon
    return (
        f"{tried.parts:,} parts, {tried.months} months; {len(tried.outcome.origins)} origins, each scored on the "
        f"{horizon} {'month' if horizon == 1 else 'months'} after it; {score.cases:,} cases"
    )


def _alt_text(tried: Tried) -> str:
    texts = [
        f"{score.target:.0%} promised, {score.achieved:.1%} achieved with {score.mean_level:.2f} pieces on average"
        for score in tried.scores
        if score.method == tried.methods[0]
    ]
    return f"Backtest on {tried.source}. Our own method: {'; '.join(texts)}."


def _achieved_panel(tried: Tried, styles: dict[str, MethodStyle]) -> Iterator[PlotLine | PlotMark | PlotText]:
    lowest = min(
        score.achieved for method in tried.methods for score in tried.curve(method) if score.target >= MIN_SHARE
    )
    panel = ChartPanel(*LEFT_PANEL, min(MIN_SHARE, math.floor(20 * lowest) / 20), 1.0)
    yield PlotText((panel.left - 44, TOP - 18), "Share of cases in which the stock lasted", 13, bold=True)
    yield from _grid(panel, [panel.low + n * _round_step(1 - panel.low) for n in range(9)], "{:.0f} %", 100)
    yield PlotLine((panel.at(MIN_SHARE, MIN_SHARE), panel.at(1, 1)), INK, 1.2, (6, 4))
    yield PlotText((panel.right, BOTTOM + 38), "promised", 13, "end", SOFT)
    for method in reversed(tried.methods):
        points = [
            (score.target, score.achieved)
            for score in tried.curve(method)
            if panel.holds(score.target, score.achieved)
        ]
        yield from _curve([panel.at(*pair) for pair in points], styles[method])


def _stock_panel(tried: Tried, styles: dict[str, MethodStyle]) -> Iterator[PlotLine | PlotMark | PlotText]:
    shown = [
        score for method in tried.methods for score in tried.curve(method) if MIN_SHARE <= score.achieved <= 0.985
    ]
    most = max([1.0, *(score.mean_level for score in shown)])
    panel = ChartPanel(*RIGHT_PANEL, 0.0, most)
    step = _round_step(most)
    yield PlotText((panel.left - 44, TOP - 18), "Mean stock, pieces a part: less is better", 13, bold=True)
    yield from _grid(panel, [n * step for n in range(int(most / step) + 1)], "{:g}")
    yield PlotText((panel.right, BOTTOM + 38), "achieved", 13, "end", SOFT)
    for method in reversed(tried.methods):
        points = [(s.achieved, s.mean_level) for s in tried.curve(method) if panel.holds(s.achieved, s.mean_level)]
        yield from _curve([panel.at(*pair) for pair in sorted(points)], styles[method])


def _round_step(span: float) -> float:
    """Return a round step that divides a span into some five parts."""
    rough = span / 5
    size = 10.0 ** math.floor(math.log10(rough))
    return next(size * factor for factor in (1, 2, 2.5, 5, 10) if size * factor >= rough * 0.999)


def _grid(panel: ChartPanel, values: Sequence[float], form: str, times: int = 1) -> Iterator[PlotLine | PlotText]:
    for value in values:
        if value <= panel.high + 1e-9:
            x, y = panel.at(MIN_SHARE, value)
            yield PlotLine(((x, y), (panel.right, y)), GRID)
            yield PlotText((x - 8, y + 4), form.format(value * times), 12, "end", SOFT)
    for hundredth in range(round(100 * MIN_SHARE), 101, 5):
        x, _ = panel.at(hundredth / 100, panel.low)
        yield PlotLine(((x, BOTTOM), (x, BOTTOM + 5)), INK)
        yield PlotText((x, BOTTOM + 20), f"{hundredth} %", 12, "middle", SOFT)
    yield PlotLine(((panel.left, BOTTOM), (panel.right, BOTTOM)), INK, 1.4)


def _curve(points: Sequence[Point], style: MethodStyle) -> Iterator[PlotLine | PlotMark]:
    if len(points) > 1:
        yield PlotLine(tuple(points), style.colour, style.width)
    for point in points:
        yield PlotMark(point, style.shape, style.colour, 4.4 if style.width > 2 else 3.2)


def _legend(methods: Sequence[str], styles: dict[str, MethodStyle]) -> Iterator[PlotLine | PlotMark | PlotText]:
    """Name the methods below, and the broken line."""
    places = [(64 + 280 * (n % 3), 424 + 26 * (n // 3)) for n in range(len(methods) + 1)]
    for (x, y), method in zip(places, methods, strict=False):
        style = styles[method]
        yield PlotLine(((x, y - 4), (x + 26, y - 4)), style.colour, style.width)
        yield PlotMark((x + 13, y - 4), style.shape, style.colour, 4.4 if style.width > 2 else 3.2)
        yield PlotText((x + 34, y), "ours" if method == methods[0] else method, 13, bold=method == methods[0])
    x, y = places[len(methods)]
    yield PlotLine(((x, y - 4), (x + 26, y - 4)), INK, 1.2, (6, 4))
    yield PlotText((x + 34, y), "just as promised", 13)
