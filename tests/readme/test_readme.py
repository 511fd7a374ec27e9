r"""Run README.md: what it shows is what the program prints.

A block of commands (``sh``) is run in one folder, in the order of the page; the block of ``text``,
``json`` or ``csv`` right behind it is what they print. A line of three dots stands for lines left
out. A comment ahead of a block says what is special about it:

- ``<!-- leaves with 1 -->``: the exit status of the block's last command, 0 otherwise;
- ``<!-- file NAME -->``: the block is a file, written before the next commands are run;
- ``<!-- not run: WHY -->``: the block is not run.

A block of Python (``pycon``) is run in the same folder at its place in the order, as a doctest.

What differs from run to run is replaced in both: digests, the time of an entry, the folder. The
blocks that set up an environment are not run here: tests/install does the like. Of the first, the
command behind the last ``&&`` is run.

``python tests/readme/test_readme.py`` writes the page anew with what is printed now.
"""

import contextlib
import doctest
import io
import os
import re
import shlex
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest import mock

from rvsmlog.cli.app import main

CHECKOUT = Path(__file__).parents[2]
PAGE = CHECKOUT / "README.md"
LEFT_OUT = "..."
PROGRAM = ".venv/bin/rvsmlog"
#: Where the page says that it was run.
HOME = "/home/you/rvsmlog"
_ANEW = (
    "where what is printed is meant, `python tests/readme/test_readme.py` writes README.md anew: "
    "read the difference before keeping it"
)

_BLOCK = re.compile(
    r"(?:^<!-- (?P<remark>[^\n]*) -->\n)?^```(?P<language>\w+)\n(?P<body>.*?)^```\n", re.M | re.S
)
_VOLATILE = (
    (re.compile(r"\b[0-9a-f]{16,64}\b"), "DIGEST"),
    (re.compile(r"(recorded(?:_at\": \"| at | )\s*)\d{4}-\d\d-\d\dT[\d:.]+Z"), r"\1TIME"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A fenced block of the page, with the remark ahead of it and the line on which it begins."""

    language: str
    body: str
    remark: str
    line: int
    span: tuple[int, int]

    def said(self, start: str) -> str:
        """Give the rest of a remark that begins so, ``""`` without one."""
        return self.remark.removeprefix(start).strip() if self.remark.startswith(start) else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Commands and what the page says they print, None where it does not."""

    commands: Block
    shown: Block | None
    files: tuple[Block, ...] = ()


def blocks(page: str) -> list[Block]:
    """Find the fenced blocks."""
    return [
        Block(
            language=match["language"],
            body=match["body"],
            remark=match["remark"] or "",
            line=page.count("\n", 0, match.start("body")),
            span=match.span("body"),
        )
        for match in _BLOCK.finditer(page)
    ]


def steps(page: str) -> Iterator[Step]:
    """Give what is to be run, in order."""
    found, files = blocks(page), list[Block]()
    for number, block in enumerate(found):
        if block.said("file "):
            files.append(block)
        if block.language == "pycon":
            yield Step(commands=block, shown=None)
        if block.language != "sh" or block.said("not run:"):
            continue
        after = found[number + 1] if number + 1 < len(found) else None
        between = "" if after is None else page[block.span[1] : after.span[0]]
        # Only a block that follows at once is the output: nothing but fences stands between.
        shown = after if re.fullmatch(r"```\n\s*```(text|json|csv)\n", between) else None
        yield Step(commands=block, shown=shown, files=tuple(files))
        files = []


def commands(body: str) -> Iterator[list[str]]:
    """Split a block into commands; of several joined by && the last counts."""
    for line in re.sub(r"\\\n\s*", " ", body).splitlines():
        words = shlex.split(line.rpartition("&& ")[2], comments=True)
        if words:
            yield words


def run_python(block: Block) -> tuple[str, int]:
    """Run a block of Python; give what differs from what it shows, and 1 where anything does."""
    told = io.StringIO()
    test = doctest.DocTestParser().get_doctest(block.body, {}, "README.md", None, block.line)
    failed = doctest.DocTestRunner(verbose=False).run(test, out=told.write).failed
    return told.getvalue(), min(failed, 1)


def _assigned(words: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    return (word.partition("=") for word in words)


def run(step: Step, folder: Path) -> tuple[str, int]:
    """Run a step's commands; give what they print and the last one's exit status."""
    if step.commands.language == "pycon":
        return run_python(step.commands)
    for file in step.files:
        (folder / file.said("file ")).write_text(file.body, "utf-8")
    status, out = 0, io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        for program, *arguments in commands(step.commands.body):
            if program == "export":
                os.environ |= {name: value for name, _, value in _assigned(arguments)}
            elif program in ("rvsmlog", PROGRAM):
                status = main(arguments)
            else:
                raise AssertionError(f"README.md runs {program!r}, which is not known here")
    return out.getvalue().replace(str(folder), HOME), status


@contextlib.contextmanager
def session(folder: Path) -> Iterator[Path]:
    """Give a folder to run the page in, with an environment of its own."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("RVSMLOG")}
    with mock.patch.dict(os.environ, kept, clear=True), contextlib.chdir(folder):
        yield folder.resolve()


def steady(text: str) -> list[str]:
    """Replace what differs from run to run, and split into lines."""
    for pattern, instead in _VOLATILE:
        text = pattern.sub(instead, text)
    return [line.rstrip() for line in text.splitlines()]


def segments(lines: Sequence[str]) -> list[list[str]]:
    """Split at the lines of three dots."""
    found: list[list[str]] = [[]]
    for line in lines:
        if line.strip() == LEFT_OUT:
            found.append([])
        else:
            found[-1].append(line)
    return found


def place(segment: Sequence[str], lines: Sequence[str], start: int) -> int:
    """Find where a segment stands at or after a line; -1 where it does not."""
    size, wanted = len(segment), list(segment)
    starts = range(start, len(lines) - size + 1)
    return next((at for at in starts if list(lines[at : at + size]) == wanted), -1)


def is_shown(shown: Sequence[str], printed: Sequence[str]) -> bool:
    """Say whether what is printed is what is shown, but for what was left out."""
    parts = segments(shown)
    if len(parts) == 1:
        return list(shown) == list(printed)
    head, *middle, tail = parts
    at = len(head)
    if list(printed[:at]) != head:
        return False
    for part in middle:
        found = place(part, printed, at)
        if found < 0:
            return False
        at = found + len(part)
    return at <= len(printed) - len(tail) and (not tail or list(printed[-len(tail) :]) == tail)


def test_the_page_shows_what_is_printed(tmp_path: Path) -> None:
    """Each block of commands leaves as the page says, and prints what the page shows."""
    faults = []
    with session(tmp_path) as folder:
        for step in steps(PAGE.read_text("utf-8")):
            printed, status = run(step, folder)
            wanted = int(step.commands.said("leaves with") or 0)
            if status != wanted:
                faults.append(f"line {step.commands.line} left with {status}:\n{printed}")
            elif step.shown and not is_shown(steady(step.shown.body), steady(printed)):
                faults.append(f"line {step.shown.line} shows something else than\n{printed}")
    assert not faults, "\n".join((*faults, _ANEW))


def test_the_three_users_have_their_day() -> None:
    """The page walks through the day of the operator, the controller and the pilot."""
    page = PAGE.read_text("utf-8")
    assert [heading for heading in re.findall(r"^## (.*)$", page, re.M) if "day" in heading] == [
        "The operator's day: logging cross-checks",
        "The maintenance controller's day",
        "The pilot's day: before filing",
    ]
    assert sum(1 for _ in steps(page)) > 12


def test_python_that_answers_something_else_is_found() -> None:
    """A block of Python fails when it answers something else than the page shows."""
    (good, bad) = (
        next(steps(f"```pycon\n>>> 1 + 1\n{answer}\n```\n")).commands for answer in (2, 3)
    )
    assert run_python(good) == ("", 0)
    assert run_python(bad)[1] == 1


def test_what_is_left_out_is_said() -> None:
    """The comparison finds a changed line, a missing one, and one too many."""
    shown = ["a", "...", "c", "...", "e"]
    assert is_shown(shown, ["a", "b", "c", "d", "e"])
    assert is_shown(shown, ["a", "c", "e"])
    assert not is_shown(shown, ["a", "b", "x", "d", "e"])
    assert not is_shown(shown, ["a", "b", "c", "d", "e", "f"])
    assert not is_shown(shown, ["b", "c", "e"])
    assert not is_shown(["a"], ["a", "b"])
    assert not is_shown(["a", "...", "a"], ["a"])


def refreshed(shown: str, printed: str) -> str:
    """Give what is printed, with the same parts left out as far as they can be found."""
    lines, parts = [line.rstrip() for line in printed.splitlines()], segments(shown.splitlines())
    if len(parts) == 1:
        return "".join(f"{line}\n" for line in lines)
    head, *middle, tail = parts
    result, at = lines[: len(head)], len(head)
    for part in middle:
        found = place(steady("\n".join(part[:1])), steady(printed), at)
        at = len(lines) if found < 0 else found + len(part)
        result += [LEFT_OUT, *(lines[found:at] if found >= 0 else [f"NOT FOUND: {part[0]}"])]
    result += [LEFT_OUT, *lines[len(lines) - len(tail) :]]
    return "".join(f"{line}\n" for line in result)


def write_anew() -> None:
    """Write the page with what is printed now."""
    page = PAGE.read_text("utf-8")
    changes: list[tuple[tuple[int, int], str]] = []
    with TemporaryDirectory() as name, session(Path(name)) as made:
        for step in steps(page):
            printed, status = run(step, made)
            if status != int(step.commands.said("leaves with") or 0):
                sys.stderr.write(f"line {step.commands.line} left with {status}:\n{printed}\n")
            elif step.shown is not None and not is_shown(steady(step.shown.body), steady(printed)):
                changes.append((step.shown.span, refreshed(step.shown.body, printed)))
    for (start, end), text in reversed(changes):
        page = page[:start] + text + page[end:]
    PAGE.write_text(page, "utf-8")
    sys.stderr.write(f"{len(changes)} blocks changed\n")


if __name__ == "__main__":
    write_anew()
