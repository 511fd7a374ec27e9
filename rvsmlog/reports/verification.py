"""What a verification found, and what a store is, on the screen and as JSON."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from rvsmlog.facts import Seal
from rvsmlog.reports.text import Line, wrap
from rvsmlog.store.reading.info import StoreInfo
from rvsmlog.store.safekeeping.seals import WHOLE_DIGITS, Answer, Outcome
from rvsmlog.store.safekeeping.self_check import Looked, State
from rvsmlog.store.safekeeping.verify import Fault, Verification

_MOST = 20
#: Digits of a digest as screens print it; 128 bits.
PRINTED_DIGITS = 32


def info_lines(info: StoreInfo, looked: Sequence[Looked]) -> Iterator[Line]:
    """Lay out what a store is, and its self-check."""
    yield Line(info.store, "bold")
    size = "" if info.bytes is None else f", {info.bytes:,} bytes"
    yield Line(f"  schema {info.schema}{size}")
    yield Line("")
    yield from _looked_lines(looked)
    yield Line("")
    if info.seals is None:
        yield from wrap("logbooks not read: the schema is another", 2, 2)
    else:
        yield from seal_lines(info.seals)


def _looked_lines(looked: Sequence[Looked]) -> Iterator[Line]:
    """Lay out the self-check: what is off, what is not installed, then what is in order."""
    off = [each for each in looked if each.state is State.OFF]
    good = [each.what for each in looked if each.state is State.GOOD]
    yield Line("Self-check" + (f": {len(off)} to look at" if off else ""), "bold")
    for each in (*off, *(each for each in looked if each.state is State.NOT_INSTALLED)):
        mark = "x" if each.state is State.OFF else "-"
        yield from wrap(f"{mark} {each.what}: {each.says}", 2, 4)
        if each.do:
            yield from wrap(f"do: {each.do}", 4, 8)
    yield from wrap(f"in order: {', '.join(good)}", 2, 4)


def looked_object(looked: Iterable[Looked]) -> list[Mapping[str, Any]]:
    """Give a self-check as JSON has it."""
    return [
        {"what": each.what, "state": each.state, "says": each.says, "do": each.do}
        for each in looked
    ]


def seal_lines(seals: Iterable[Seal]) -> Iterator[Line]:
    """Print seals as `store verify --seal` takes them."""
    lines = [Line(f"  {printed(each)}") for each in seals]
    if not lines:
        yield from wrap("no logbook yet", 2, 2)
        return
    yield Line("Seals: newest entry and digest of each logbook, to be noted elsewhere", "bold")
    yield from lines


def printed(seal: Seal) -> str:
    """Write a seal as it is printed, on one line.

    A login past rvsmlog may open a logbook of any name: a line break in it would print a second
    line that looks like the seal of another logbook.
    """
    name = "".join(each if each.isprintable() else f"\\u{ord(each):04x}" for each in seal.logbook)
    return f"{name}#{seal.entry}:{seal.digest[:PRINTED_DIGITS]}"


def verification_lines(found: Verification, answers: Sequence[Answer] = ()) -> Iterator[Line]:
    """Lay out what a verification found, and what became of seals printed earlier."""
    entries = [fault for fault in found.faults if fault.entry is not None]
    store = [fault for fault in found.faults if fault.entry is None]
    if entries:
        yield from _fault_lines(f"NOT AS WRITTEN: {len(entries)} fault(s) in the log", entries)
    else:
        yield Line(f"as written: {found.entries:,} entries, every digest agrees", "bold")
    if store:
        yield from _fault_lines("THE STORE ITSELF IS NOT AS IT WAS MADE", store)
    if found.faults:
        yield from wrap("do: stop writing, keep this file, compare with the newest backup", 2, 6)
    for answer in answers:
        yield Line("")
        yield from _answer_lines(answer)
    yield Line("")
    yield from seal_lines(found.seals)


def _fault_lines(head: str, faults: Sequence[Fault]) -> Iterator[Line]:
    """Lay out the first of some faults."""
    yield Line(head, "bold red")
    for fault in faults[:_MOST]:
        yield from wrap(str(fault), 2, 4)
    if len(faults) > _MOST:
        yield Line(f"  and {len(faults) - _MOST} more")


def _answer_lines(answer: Answer) -> Iterator[Line]:
    """Say what became of one seal."""
    words = {
        Outcome.HOLDS: ("holds", "bold"),
        Outcome.DIFFERS: ("DOES NOT HOLD", "bold red"),
        Outcome.BEYOND: ("DOES NOT HOLD: it is beyond the log", "bold red"),
        Outcome.NO_LOGBOOK: ("DOES NOT HOLD: there is no such logbook", "bold red"),
    }
    said, style = words[answer.outcome]
    yield Line(f"seal {answer.claim} {said}", style)
    for sentence in seal_says(answer):
        yield from wrap(sentence, 2, 4)


def seal_says(answer: Answer) -> tuple[str, ...]:
    """Say in sentences what a seal proves, or where the history parts from it."""
    claim = answer.claim
    digits = f"{len(claim.digits)} of {WHOLE_DIGITS} digits compared"
    if answer.outcome is Outcome.NO_LOGBOOK:
        return ("the store holds no logbook of that name: is it another store's seal?",)
    newest = answer.newest or 0
    if answer.outcome is Outcome.HOLDS:
        since = newest - claim.entry
        added = "nothing was added since" if since == 0 else f"{since:,} added since"
        return (f"the logbook still contains exactly that history; {added}; {digits}",)
    if answer.outcome is Outcome.BEYOND:
        return (_missing(answer, newest), "nothing could be compared with its digits")
    return (*_parted(answer), digits)


def _missing(answer: Answer, newest: int) -> str:
    """Say which entries a log is short of, and whether the rest is sound."""
    last = answer.claim.entry
    gone = f"#{last} is" if last == newest + 1 else f"#{newest + 1} to #{last} are"
    before = ""
    if answer.first is not None and answer.first <= newest:
        before = f"; those before fail from #{answer.first} on"
    return f"the newest entry is #{newest}: {gone} missing{before}"


def _parted(answer: Answer) -> Iterator[str]:
    """Say from which entry on a history is another one, as far as it can be told."""
    claim = answer.claim
    if answer.first is not None:
        yield f"the first entry that fails is #{answer.first}"
    elif answer.mistyped:
        yield "nearly all digits agree: one of them is most likely mistyped; check them"
    else:
        first = answer.after + 1
        what = f"#{first}" if first == claim.entry else f"something in #{first} to #{claim.entry}"
        yield (
            f"the history to #{claim.entry} is another one, though each digest follows from the "
            f"one before: {what} was written anew, or the seal is another store's"
        )
        if first < claim.entry:
            yield "give earlier seals too, each with --seal, to narrow it down"
    if answer.after:
        yield f"up to #{answer.after} it is as another seal says"


def verification_object(found: Verification, answers: Sequence[Answer] = ()) -> Mapping[str, Any]:
    """Give a verification as JSON has it."""
    return {
        "as_written": all(fault.entry is None for fault in found.faults),
        "store_as_made": all(fault.entry is not None for fault in found.faults),
        "entries": found.entries,
        "faults": [_fault_object(fault) for fault in found.faults],
        "seals": [
            {"logbook": each.logbook, "entry": each.entry, "digest": each.digest}
            for each in found.seals
        ],
        "seals_checked": [_answer_object(answer) for answer in answers],
    }


def _fault_object(fault: Fault) -> Mapping[str, Any]:
    return {"logbook": fault.logbook, "entry": fault.entry, "says": fault.says}


def _answer_object(answer: Answer) -> Mapping[str, Any]:
    return {
        "logbook": answer.claim.logbook,
        "entry": answer.claim.entry,
        "digits": answer.claim.digits,
        "digits_compared": len(answer.claim.digits) if answer.compared else 0,
        "holds": answer.holds,
        "outcome": answer.outcome.value,
        "newest_entry": answer.newest,
        "first_entry_that_fails": answer.first,
        "as_sealed_up_to": answer.claim.entry if answer.holds else answer.after,
        "says": "; ".join(seal_says(answer)),
    }
