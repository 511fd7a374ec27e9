"""What the maintenance controller concluded about an entry."""

from datetime import datetime
from typing import Protocol

from rvsmlog.facts import Facts, Logged
from rvsmlog.records.base import Ref
from rvsmlog.records.defects import Review


class Entry(Protocol):
    """An entry that can be reviewed: its newest number and the first one."""

    @property
    def ref(self) -> Ref:
        """The newest entry that holds it."""
        ...

    @property
    def first(self) -> int:
        """The number under which it was first made."""
        ...


def judging_review(facts: Facts, entry: Entry, since: datetime) -> Logged[Review] | None:
    """Give the newest review of an entry as it stands now, None without any.

    Parameters
    ----------
    facts : Facts
        With all reviews.
    entry : Entry
        What was reviewed. A review from before it was corrected judged other figures.
    since : datetime
        When it happened: a review from before that judged nothing.
    """
    reviews = [
        review
        for review in facts.reviews_of(entry.first)
        if review.record.reviewed_at > since and review.first > entry.ref.entry
    ]
    return max(reviews, key=lambda review: review.record.reviewed_at, default=None)


def accepting_review(facts: Facts, entry: Entry, since: datetime) -> Logged[Review] | None:
    """Give the newest review of an entry where it accepts it."""
    review = judging_review(facts, entry, since)
    return review if review is not None and review.record.accepted else None
