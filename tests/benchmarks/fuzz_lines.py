"""Command lines for the fuzzer: the real commands and options, bent, with hostile values."""

import random
import shlex
from collections.abc import Mapping
from functools import cache

from rvsmlog.cli.helping import split_example
from rvsmlog.records.base import RecordKind
from rvsmlog.records.fields import Choice, FieldType, Flag, Real, Whole, Words
from rvsmlog.records.kinds import KINDS
from rvsmlog.records.trade_fields import Day, EntryNumber, Instant, Level
from rvsmlog.rules import RULES
from tests.benchmarks.fuzz_values import PLACES, STEERING, bent, hostile
from tests.cli.conftest import REG, commands
from tests.cli.test_help import EVERY

_FLAGS = ("--json", "--csv", "--all", "--dry-run", "--sources", "--guided", "--help", "--version")
#: Commands that make whole stores or take a second; tried less often.
_HEAVY = {("demo",), ("drift",), ("store", "init"), ("store", "restore"), ("store", "upgrade")}
_USUAL: Mapping[str, tuple[str, ...]] = {
    "--level": ("310", "FL290", "280"),
    "--at": ("2024-05-02T08:00Z", "2024-06-01T00:00Z"),
    "--on": ("2024-06-01",),
    "--last": ("1", "5", "100"),
    "--within": ("90d", "6m"),
    "--region": ("NAM", "NAT", "US"),
    "--pilot": ("MKO",),
    "--as-of": ("21", "5", "2024-05-02T08:00Z"),
    "--reason": ("mistyped",),
    "--corrects": tuple(str(number) for number in range(1, 27)),
    "--by": ("MKO",),
    "--track": ("045", "265"),
    "--people": ("1+3",),
    "--keep": ("1", "3"),
}


@cache
def options_of(path: tuple[str, ...]) -> tuple[tuple[str, bool], ...]:
    """Give the options of a command, and whether each takes a value."""
    return tuple(
        (param.opts[-1], not getattr(param, "is_flag", False))
        for param in EVERY[path].params
        if param.param_type_name == "option"
    )


@cache
def field_types() -> Mapping[str, FieldType[object]]:
    """Give a field type for each option that stands for a field."""
    return {spec.option: spec.type for kind in KINDS for spec in kind.fields}


def usual(rng: random.Random, option: str) -> str:
    """Give a value that an option may well take."""
    if option in _USUAL:
        return rng.choice(_USUAL[option])
    kind = field_types().get(option)
    return "x" if kind is None else fitting(rng, kind)


def fitting(rng: random.Random, kind: FieldType[object]) -> str:
    """Give a text that fits a field type, at its bounds every now and then."""
    day = f"2024-0{rng.randrange(1, 7)}-{rng.randrange(1, 31):02}"
    match kind:
        case Choice():
            text = rng.choice(kind.words)
        case Words():
            text = ",".join(rng.sample(kind.words, rng.randrange(1, min(4, len(kind.words)) + 1)))
        case Flag():
            text = rng.choice(("yes", "no"))
        case Whole():
            text = str(rng.choice((kind.low, kind.high, rng.randint(kind.low, kind.high))))
        case Real():
            text = f"{rng.choice((kind.low, kind.high, rng.uniform(kind.low, kind.high))):.2f}"
        case Instant():
            text = f"{day}T{rng.randrange(24):02}:30Z"
        case Day():
            text = day
        case EntryNumber():
            text = str(rng.randrange(1, 27))
        case Level():
            text = str(rng.randrange(200, 410, 10))
        case _:
            text = rng.choice((*"AbZ9", REG, "A plain text", rng.choice(STEERING)))
    return text


def fields(rng: random.Random, kind: RecordKind) -> dict[str, str]:
    """Give texts for the required fields of a kind, and for some of the others."""
    return {
        spec.name: fitting(rng, spec.type)
        for spec in kind.fields
        if spec.required or rng.random() < 0.3
    }


def example(rng: random.Random) -> list[str]:
    """Give the example of a command, or a line of the log's story."""
    if rng.random() < 0.4:
        return list(rng.choice(commands()))
    path = rng.choice(tuple(EVERY))
    if path in _HEAVY and rng.random() < 0.9:
        path = ("crosscheck", "log")
    return shlex.split(split_example(EVERY[path].help or "")[1])[1:]


def made_up(rng: random.Random) -> list[str]:
    """Put a command line together from the commands, their options and fitting values."""
    path = rng.choice(tuple(EVERY))
    if path in _HEAVY and rng.random() < 0.9:
        path = ("gonogo",)
    words = list(path)
    for param in EVERY[path].params:
        if param.param_type_name != "argument":
            continue
        shown = (param.metavar or "").strip("[]")
        good = {"REG": REG, "FILE": rng.choice(PLACES), "NAME": rng.choice(RULES).name}
        words.append(good.get(shown, str(rng.randrange(1, 27))))
    for option, valued in options_of(path):
        wanted = "[required]" in _help(path, option)
        if rng.random() < (0.97 if wanted else 0.12):
            words.append(option)
            words += [usual(rng, option)] if valued else []
    return words


@cache
def _help(path: tuple[str, ...], option: str) -> str:
    """Give the help text of an option."""
    return next(param.help or "" for param in EVERY[path].params if option in param.opts)


def changed(rng: random.Random, words: list[str]) -> list[str]:
    """Make one change to a command line."""
    at = rng.randrange(len(words)) if words else 0
    what = rng.random()
    if not words or what < 0.08:
        words.insert(at, hostile(rng))
    elif what < 0.5:
        values = [n for n, word in enumerate(words) if n > 0 and words[n - 1].startswith("--")]
        at = rng.choice(values) if values and rng.random() < 0.7 else at
        words[at] = hostile(rng)
    elif what < 0.65:
        words[at] = bent(rng, words[at])
    elif what < 0.72:
        del words[at]
    elif what < 0.77:
        words.append(words[at])
    elif what < 0.82:
        words.append(rng.choice(_FLAGS))
    elif what < 0.95:
        path = tuple(words[:2]) if tuple(words[:2]) in EVERY else tuple(words[:1])
        known = options_of(path) if path in EVERY else (("--json", False),)
        option, valued = rng.choice(known)
        value = [rng.choice((usual(rng, option), hostile(rng)))] if valued else []
        words += [f"{option}={value[0]}"] if value and rng.random() < 0.2 else [option, *value]
    else:
        rng.shuffle(words)
    return words


def command_line(rng: random.Random) -> list[str]:
    """Give one fuzzed command line."""
    if rng.random() < 0.03:
        return [hostile(rng) for _ in range(rng.randrange(4))]
    words = example(rng) if rng.random() < 0.6 else made_up(rng)
    for _ in range(rng.choice((0, 1, 1, 1, 2, 4))):
        words = changed(rng, words)
    return words


def answers(rng: random.Random) -> str:
    """Give what somebody types into a dialogue."""
    lines = (rng.choice((REG, "310", "y", "hourly", "31000", "", hostile(rng))) for _ in range(9))
    return "\n".join(lines)
