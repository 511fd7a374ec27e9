"""The detector's state as text, to be kept beside the log and rebuilt from it.

The text is a cache, never evidence: whoever reads it back and finds it of another form, or of
other settings, runs the detector over the log again.
"""

import json
from dataclasses import asdict
from datetime import datetime
from typing import Any

from rvsmlog.errors import InputError
from rvsmlog.science import drift, drift_evidence
from rvsmlog.science.drift import DriftState, Onset

_REBUILD = "run the detector over the log again"


def settings() -> dict[str, float]:
    """Give the settings on which a state depends."""
    return {
        "form": 2,
        "log_limit": drift.LOG_LIMIT,
        "warm_up": drift.WARM_UP,
        "clip": drift.CLIP,
        "clip_of_median": drift.CLIP_OF_MEDIAN,
        "size_prior": drift_evidence.SIZE_PRIOR,
    }


def pack(state: DriftState) -> str:
    """Write a state as one line of JSON."""
    return json.dumps(
        {"settings": settings(), "state": asdict(state)}, default=_instant, separators=(",", ":")
    )


def _instant(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    raise TypeError(f"a state holds no {type(value).__name__}")


def unpack(text: str) -> DriftState:
    """Read a state back.

    Parameters
    ----------
    text : str
        As :func:`pack` wrote it.

    Returns
    -------
    DriftState
        Equal to the state packed.

    Raises
    ------
    InputError
        When the text is no state, or one made with other settings.
    """
    try:
        kept = json.loads(text)
        if kept["settings"] != settings():
            raise InputError("the state was made with other settings", _REBUILD)
        return _state(kept["state"])
    except (ValueError, KeyError, TypeError) as fault:
        raise InputError("the text is no state of the drift detector", _REBUILD) from fault


def _state(kept: dict[str, Any]) -> DriftState:
    onsets = tuple(
        Onset(**{**each, "at": datetime.fromisoformat(each["at"])}) for each in kept.pop("onsets")
    )
    alarm = kept.pop("alarm_at")
    recent = tuple(kept.pop("recent_ft"))
    return DriftState(
        **kept,
        onsets=onsets,
        recent_ft=recent,
        alarm_at=None if alarm is None else datetime.fromisoformat(alarm),
    )
