"""A picture as a file of dots, drawn by the plotting library where that is installed."""

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from rvsmlog.errors import InputError
from rvsmlog.reports.plot import Plot, Shape, Stroke
from rvsmlog.reports.plot_style import FILL, INK, SOFT, STYLE, save
from rvsmlog.reports.text import escape

_SHAPES: Mapping[Shape, Mapping[str, Any]] = MappingProxyType(
    {
        Shape.RING: {"marker": "o", "markersize": 5, "markerfacecolor": "white"},
        Shape.DOT: {"marker": "o", "markersize": 2, "markerfacecolor": INK},
        Shape.SQUARE: {"marker": "s", "markersize": 4, "markerfacecolor": "white"},
        Shape.TRIANGLE: {"marker": "^", "markersize": 5, "markerfacecolor": "white"},
        Shape.CROSS: {"marker": "x", "markersize": 6, "markeredgewidth": 1.8},
        # The library's numbers for triangles whose tip is the point.
        Shape.UP: {"marker": 6, "markersize": 7, "markerfacecolor": INK},
        Shape.DOWN: {"marker": 7, "markersize": 7, "markerfacecolor": INK},
    }
)
_STROKES: Mapping[Stroke, Mapping[str, Any]] = MappingProxyType(
    {
        Stroke.SOLID: {"linestyle": "-", "linewidth": 1.4, "color": INK},
        Stroke.DASHED: {"linestyle": "--", "linewidth": 1.4, "color": INK},
        Stroke.DOTTED: {"linestyle": ":", "linewidth": 1.4, "color": INK},
        Stroke.FAINT: {"linestyle": "-", "linewidth": 0.8, "color": SOFT},
    }
)


def write_png(plot: Plot, target: Path) -> None:
    """Draw a picture into a file; the same picture gives the same file.

    Raises
    ------
    InputError
        When the file cannot be written, or the plotting library is not installed.
    """
    try:
        import matplotlib as mpl

        mpl.use("Agg")
        from matplotlib import pyplot
    except ModuleNotFoundError:
        raise InputError(
            "the plotting library is not installed",
            "end the name in .svg, or install it: pip install 'rvsmlog[plot]'",
        ) from None
    style: Any = dict(STYLE)
    with mpl.rc_context(style):
        figure, axes = pyplot.subplots(figsize=(11.0, 6.2), layout="constrained")
        _draw(axes, plot)
        _words(figure, axes, plot)
        try:
            save(figure, target)
        finally:
            pyplot.close(figure)


def _draw(axes: Any, plot: Plot) -> None:
    """Draw areas, lines, marks and uprights."""
    for area in plot.areas:
        axes.fill_between(
            [x for x, _ in area.lower],
            [y for _, y in area.lower],
            [y for _, y in area.upper],
            color=FILL,
            linewidth=0,
            label=area.label,
        )
    for line in plot.lines:
        key = {} if line.at_end or not line.label else {"label": line.label}
        axes.plot(*zip(*line.points, strict=True), **_STROKES[line.stroke], **key)
        if line.label and line.at_end:
            _beside(axes, line.label, line.points[-1], "right")
    for marks in plot.marks:
        axes.plot(
            *zip(*marks.points, strict=True),
            linestyle="none",
            markeredgecolor=INK,
            label=marks.label,
            **_SHAPES[marks.shape],
        )
    for upright in plot.uprights:
        axes.axvline(upright.x, **_STROKES[upright.stroke])
        _along(axes, upright.label, upright.x, at_top=upright.at_top)


def _beside(axes: Any, words: str, at: tuple[float, float], side: str) -> None:
    axes.annotate(words, at, xytext=(-2, 4), textcoords="offset points", ha=side, color=INK)


def _along(axes: Any, words: str, x: float, *, at_top: bool) -> None:
    """Write words along an upright."""
    axes.annotate(
        words,
        (x, 0.98 if at_top else 0.02),
        xycoords=("data", "axes fraction"),
        xytext=(4, 0),
        textcoords="offset points",
        rotation=90,
        va="top" if at_top else "bottom",
        color=INK,
        fontsize=9,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
    )


def _words(figure: Any, axes: Any, plot: Plot) -> None:
    """Write title, axes, key and note."""
    figure.suptitle(escape(plot.title), x=0.01, ha="left", fontsize=14, parse_math=False)
    axes.set_xlabel(plot.x.label)
    axes.set_ylabel(plot.y.label)
    axes.set_xlim(plot.x.low, plot.x.high)
    axes.set_ylim(plot.y.low, plot.y.high)
    axes.set_xticks([at for at, _ in plot.x.ticks], [text for _, text in plot.x.ticks])
    axes.set_yticks([at for at, _ in plot.y.ticks], [text for _, text in plot.y.ticks])
    if axes.get_legend_handles_labels()[0]:
        axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=4, frameon=False, fontsize=9)
    figure.supxlabel(plot.note, x=0.01, ha="left", fontsize=8, color=SOFT)
