"""Seals printed earlier, held against the logbooks as they are today.

A seal is the number of an entry and its digest. The digest covers every entry up to that number, so
one that was printed, filed or sent to somebody else proves later that nothing before it was
changed, taken out or slipped in: not even by somebody who could write the whole file anew with
digests that follow from each other, which verification alone cannot find.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from enum import StrEnum

from sqlalchemy import Connection

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.store.encoding import DIGEST_BYTES
from rvsmlog.store.reading.books import Book, books, seal
from rvsmlog.store.safekeeping.verify import Verification

#: Digits of a whole digest.
WHOLE_DIGITS = 2 * DIGEST_BYTES
#: Fewer digits than this prove nothing: a changed history that agrees with them is found by trying
#: (2 to the power of 64 tries for 16 digits).
FEWEST_DIGITS = 16
#: With this share of digits in agreement the rest is mistyped: of digits of different digests, one
#: in sixteen agrees.
_MISTYPED = 0.75

_SEAL = re.compile(r"(?P<book>.+)#(?P<entry>\d{1,12})\s*[:\s]\s*(?P<digits>.+)", re.ASCII)
_WANTED = "write LOGBOOK#NUMBER:DIGITS as it was printed, for example operator#1:6f0c24..."


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A seal as it was printed.

    Parameters
    ----------
    logbook : str
        Name of the logbook.
    entry : int
        Number of the entry; 0 for a logbook without entries.
    digits : str
        The digest's hexadecimal digits, or the first of them.
    """

    logbook: str
    entry: int
    digits: str

    def __str__(self) -> str:
        return f"{self.logbook}#{self.entry}"


class Outcome(StrEnum):
    """What became of the history that a seal stands for."""

    HOLDS = "holds"
    DIFFERS = "differs"
    BEYOND = "beyond the log"
    NO_LOGBOOK = "no such logbook"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a seal says about today's logbook.

    Parameters
    ----------
    claim : Claim
        The seal.
    outcome : Outcome
        Whether today's logbook still begins with exactly the sealed history.
    newest : int or None
        The logbook's newest entry; None where there is no such logbook.
    first : int or None
        The first entry that can be named as wrong or missing; None where it cannot be told.
    after : int
        Up to this entry the history is as another seal says; what differs comes after it.
    mistyped : bool
        Whether nearly all digits agree, so that a slip in typing them is likely.
    """

    claim: Claim
    outcome: Outcome
    newest: int | None = None
    first: int | None = None
    after: int = 0
    mistyped: bool = False

    @property
    def holds(self) -> bool:
        """Whether the history is as it was sealed."""
        return self.outcome is Outcome.HOLDS

    @property
    def compared(self) -> bool:
        """Whether there was a digest to compare the seal's digits with."""
        return self.outcome in {Outcome.HOLDS, Outcome.DIFFERS}


def parse_claim(text: str) -> Claim:
    """Read a seal as it was printed: ``LOGBOOK#NUMBER:DIGITS``, or with a blank for the colon.

    Raises
    ------
    InputError
        When it is none, or has too few digits to prove anything.
    """
    if not isinstance(text, str):
        raise InputError(f"{text!r} is no seal", _WANTED)
    found = _SEAL.fullmatch(text.strip())
    if found is None:
        raise InputError(f"{text.strip()!r} is no seal", _WANTED)
    digits = re.sub(r"[\s.…]", "", found["digits"]).lower()
    if not re.fullmatch(r"[0-9a-f]+", digits, re.ASCII):
        raise InputError(f"the seal's digits {digits!r} are not hexadecimal", _WANTED)
    if len(digits) > WHOLE_DIGITS:
        raise InputError(
            f"the seal has {len(digits)} digits, a whole one has {WHOLE_DIGITS}", _WANTED
        )
    if len(digits) < FEWEST_DIGITS:
        raise InputError(
            f"the seal has {len(digits)} digits: too few to prove anything",
            f"write all that were printed, {FEWEST_DIGITS} at the least",
        )
    return Claim(logbook=found["book"].strip(), entry=int(found["entry"]), digits=digits)


def check_claims(
    connection: Connection, found: Verification, claims: Sequence[Claim]
) -> tuple[Answer, ...]:
    """Say of each seal whether today's logbook still contains exactly the sealed history.

    Parameters
    ----------
    connection : Connection
        In the transaction in which the store was verified.
    found : Verification
        What the verification found: a history with a fault is not the sealed one, whatever
        digests are kept.
    claims : sequence of Claim
        The seals. Several of one logbook narrow down where a history parts.
    """
    known = {book.name.casefold(): book for book in books(connection)}
    answers = [
        _answer(connection, known.get(claim.logbook.casefold()), found, claim) for claim in claims
    ]
    return tuple(_narrowed(answer, answers) for answer in answers)


def _answer(connection: Connection, book: Book | None, found: Verification, claim: Claim) -> Answer:
    """Hold one seal against its logbook."""
    if book is None:
        return Answer(claim=claim, outcome=Outcome.NO_LOGBOOK)
    newest = seal(connection, book).entry
    first = _first_fault(found, book, min(claim.entry, newest))
    if claim.entry > newest:
        missing = newest + 1 if first is None else first
        return Answer(claim=claim, outcome=Outcome.BEYOND, newest=newest, first=missing)
    kept = seal(connection, book, claim.entry)
    agree = kept.entry == claim.entry and kept.digest.startswith(claim.digits)
    return Answer(
        claim=claim,
        outcome=Outcome.HOLDS if agree and first is None else Outcome.DIFFERS,
        newest=newest,
        first=first,
        mistyped=not agree and _alike(kept.digest, claim.digits),
    )


def _first_fault(found: Verification, book: Book, last: int) -> int | None:
    """Give the first entry of a history in which verification found a fault."""
    numbers = [
        fault.entry
        for fault in found.faults
        if fault.logbook == book.name and fault.entry is not None and fault.entry <= last
    ]
    return min(numbers, default=None)


def _alike(digest: str, digits: str) -> bool:
    """Say whether most digits agree, place by place."""
    same = sum(one == other for one, other in zip(digest, digits, strict=False))
    return same >= _MISTYPED * len(digits)


def _narrowed(answer: Answer, others: Iterable[Answer]) -> Answer:
    """Say up to which entry other seals vouch for a history that is not as it was sealed."""
    if answer.outcome is not Outcome.DIFFERS:
        return answer
    vouched = [
        other.claim.entry
        for other in others
        if other.holds
        and other.claim.logbook.casefold() == answer.claim.logbook.casefold()
        and other.claim.entry < answer.claim.entry
    ]
    return replace(answer, after=max(vouched, default=0))
