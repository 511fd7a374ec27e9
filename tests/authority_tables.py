"""Tables of expectations with a row for each authority: which ones a table leaves out."""

from collections.abc import Iterable

from rvsmlog.standards.authorities import AUTHORITIES


def leaves_none_out(codes: Iterable[str], table: str) -> None:
    """Fail with the authorities of which a table says nothing."""
    missing = set(AUTHORITIES) - set(codes)
    assert not missing, f"{table} wants what is read in the rules of {sorted(missing)}"
