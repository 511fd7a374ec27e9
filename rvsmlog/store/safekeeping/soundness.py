"""Whether a store is sound: digests, the guards of its tables, and seals noted elsewhere."""

from collections.abc import Sequence
from dataclasses import replace

from rvsmlog.frozen import dataclass
from rvsmlog.store.connection import Store
from rvsmlog.store.safekeeping.guards import guard_faults
from rvsmlog.store.safekeeping.seals import Answer, Claim, check_claims
from rvsmlog.store.safekeeping.verify import Progress, Verification, verify


@dataclass(frozen=True, slots=True, kw_only=True)
class Soundness:
    """What was found.

    Parameters
    ----------
    verification : Verification
        Every digest computed anew; the faults of the guards stand among the others.
    answers : tuple of Answer
        One for each seal that was asked about.
    """

    verification: Verification
    answers: tuple[Answer, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong and every seal holds."""
        return not self.verification.faults and all(answer.holds for answer in self.answers)


def verify_store(
    store: Store, seals: Sequence[Claim] = (), progress: Progress | None = None
) -> Soundness:
    """Verify a whole store in one state of it.

    Parameters
    ----------
    store : Store
        Open.
    seals : sequence of Claim
        Seals that were noted elsewhere, as :func:`rvsmlog.store.safekeeping.seals.parse_claim`
        reads them.
    progress : callable, optional
        Told the number of entries done, now and then.
    """
    with store.reading() as connection:
        found = verify(connection, progress)
        answers = check_claims(connection, found, seals)
        faults = (*found.faults, *guard_faults(connection))
    return Soundness(verification=replace(found, faults=faults), answers=tuple(answers))
