"""The one quiet style of all plots: black on white, meaning in words and marks, not in colour."""

import secrets
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from types import MappingProxyType
from typing import Any

from rvsmlog.errors import InputError
from rvsmlog.store.files import keep_mode

INK = "#1a1a1a"
SOFT = "#6e6e6e"
#: What lies between two lines.
FILL = "#e4e4e4"
STYLE: Mapping[str, Any] = MappingProxyType(
    {
        "font.family": "DejaVu Sans",
        "font.size": 10,
        "axes.edgecolor": SOFT,
        "axes.labelcolor": INK,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.titlelocation": "left",
        "axes.titlesize": 13,
        "axes.grid": True,
        "grid.color": "#ececec",
        "xtick.color": INK,
        "ytick.color": INK,
    }
)
#: Kinds of picture that a file's ending may ask for.
KINDS = (".svg", ".png")


def checked_target(target: Path) -> Path:
    """Check that a picture can be written under a name.

    Raises
    ------
    InputError
        When the ending is no kind of picture, or the folder does not exist.
    """
    if target.suffix.lower() not in KINDS:
        raise InputError(f"{target.name!r} is no kind of picture", "end the name in .svg or .png")
    if not target.parent.is_dir():
        raise InputError(f"there is no folder {target.parent}", "name one that exists")
    return target


def save(figure: Any, target: Path) -> None:
    """Write a figure; the same data give the same file.

    A link that stands at the place is replaced, not followed: what it leads to was not named.
    """
    draft = target.with_name(f".{secrets.token_hex(8)}{target.suffix}")
    try:
        # Its owner's alone, or as the picture that it replaces: as every file that is written.
        draft.touch(mode=0o600, exist_ok=False)
        figure.savefig(draft, dpi=150, metadata={"Software": None})
        keep_mode(target, draft)
        draft.replace(target)
    except OSError as error:
        raise InputError(f"{target} cannot be written: {error.strerror}", "name another") from None
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)
