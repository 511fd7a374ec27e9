"""A picture as SVG, for a page and for a file: no library but the template engine is wanted."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from textwrap import wrap
from types import MappingProxyType

from markupsafe import Markup

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.pages.page import fill
from rvsmlog.reports.plot import Area, Axis, Marks, Plot, Points, Shape, Stretch
from rvsmlog.reports.plot_png import write_png
from rvsmlog.reports.plot_style import checked_target
from rvsmlog.store.files import put_text

_DECLARATION = '<?xml version="1.0" encoding="UTF-8"?>'
WIDTH, HEIGHT = 720, 400
_LEFT, _RIGHT, _BOTTOM = 62, 30, 46
_TOP = 14
#: The title and each line of the note, in a file; how many letters a line of the note takes.
_TITLE_LINE, _NOTE_LINE, _NOTE_LETTERS = 26, 15, 118
#: A line of the key, and about how wide a letter is.
_KEY_LINE, _LETTER = 18, 6.3
#: What is drawn at a point, from its middle.
_PATHS: Mapping[Shape, str] = MappingProxyType(
    {
        Shape.RING: "m-3 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0",
        Shape.DOT: "h0",
        Shape.SQUARE: "m-3-3h6v6h-6z",
        Shape.TRIANGLE: "m0-3.5l3.5 6h-7z",
        Shape.CROSS: "m-3.5-3.5l7 7m0-7l-7 7",
        # From the edge of the scale inwards.
        Shape.UP: "m0 11v-10m-4 4l4-4l4 4",
        Shape.DOWN: "m0-11v10m-4-4l4 4l4-4",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Key:
    """A sort of mark or line with its words, and where they stand."""

    x: float
    y: float
    look: str
    path: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Where the picture lies on the sheet."""

    x: Axis
    y: Axis
    top: float

    def across(self, value: float) -> float:
        """Give the place on the sheet of a value of the horizontal axis."""
        share = (value - self.x.low) / (self.x.high - self.x.low)
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def down(self, value: float) -> float:
        """Give the place on the sheet of a value of the vertical axis."""
        share = (value - self.y.low) / (self.y.high - self.y.low)
        return HEIGHT - _BOTTOM - share * (HEIGHT - _BOTTOM - self.top)

    def line(self, points: Points) -> str:
        """Give the path through points."""
        return "M" + "L".join(f"{self.across(x):.1f} {self.down(y):.1f}" for x, y in points)

    def area(self, area: Area) -> str:
        """Give the path around an area."""
        return self.line((*area.lower, *reversed(area.upper))) + "z"

    def marks(self, marks: Marks) -> str:
        """Give one path for all marks of a sort, so that thousands stay small."""
        drawn = _PATHS[marks.shape]
        return "".join(f"M{self.across(x):.0f} {self.down(y):.0f}{drawn}" for x, y in marks.points)


def svg(plot: Plot, number: int = 1, *, alone: bool = False) -> Markup:
    """Draw a picture.

    Parameters
    ----------
    plot : Plot
        The picture.
    number : int
        Its number in the page: titles are named by it.
    alone : bool
        Whether it is a file by itself, with its title, note and style in it.
    """
    title, note = (_TITLE_LINE, wrap(plot.note, width=_NOTE_LETTERS)) if alone else (0, [])
    keys, top = _keys(plot)
    frame = _Frame(x=plot.x, y=plot.y, top=top)
    values = {
        "plot": plot,
        "alone": alone,
        "title": title,
        "note": note,
        "note_line": _NOTE_LINE,
        "frame": frame,
        "keys": keys,
        "number": number,
        "ends": [_end(frame, line) for line in plot.lines if line.label and line.at_end],
        "width": WIDTH,
        "height": HEIGHT,
        "left": _LEFT,
        "right": WIDTH - _RIGHT,
        "bottom": HEIGHT - _BOTTOM,
    }
    return Markup(fill("plot.svg", values))  # noqa: S704  # the engine escapes what goes in


def write_plot(plot: Plot, target: Path) -> None:
    """Write a picture as .svg or .png; what stands there is replaced.

    Raises
    ------
    InputError
        When the ending is no kind of picture, the file cannot be written, or a .png is asked for
        and the plotting library is not installed.
    """
    if checked_target(target).suffix.lower() == ".png":
        write_png(plot, target)
        return
    try:
        put_text(target, f"{_DECLARATION}\n{svg(plot, alone=True)}\n")
    except OSError as error:
        says = f"{target} cannot be written: {error.strerror}"
        raise InputError(says, "name another") from None


def _keys(plot: Plot) -> tuple[list[_Key], float]:
    """Lay out the key above the picture, and say where the picture begins."""
    found, x, y = [], float(_LEFT), float(_TOP)
    for look, path, words in _sorts(plot):
        wide = 34 + _LETTER * len(words)
        if x > _LEFT and x + wide > WIDTH - _RIGHT:
            x, y = float(_LEFT), y + _KEY_LINE
        found.append(_Key(x=x, y=y, look=look, path=path, words=words))
        x += wide
    return found, y + (_KEY_LINE if found else 0)


def _sorts(plot: Plot) -> Iterator[tuple[str, str, str]]:
    """Give the look, the drawing and the words of what the key explains."""
    for marks in plot.marks:
        yield f"mark {marks.shape}", f"m9 0{_PATHS[marks.shape]}", marks.label
    for line in plot.lines:
        if line.label and not line.at_end:
            yield f"line {line.stroke}", "h18", line.label
    for area in plot.areas:
        yield "area", "m0-5h18v10h-18z", area.label


def _end(frame: _Frame, line: Stretch) -> tuple[float, float, str]:
    """Say where the words of a line stand: above its right end."""
    x, y = line.points[-1]
    return frame.across(x) - 3, frame.down(y) - 5, line.label
