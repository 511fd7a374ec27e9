"""Which standard an ADS-B Out meets, read out of the version that somebody typed."""

import re
import unicodedata
from enum import Enum

_SEP = r"[\s\-]*"
_VERSION = r"\bv(?:er(?:sion)?)?\.?[\s\-]*"
_NO_MORE = r"\b(?!\.\d)"
# What some other text of the entry is: neither a standard of ADS-B nor against one.
_BESIDE = re.compile(
    rf"\b(?:software|firmware|sw|s/w){_SEP}(?:v(?:er(?:sion)?)?\.?\s*)?\d[\d.]*"
    rf"|\b(?:change|corrigendum){_SEP}\d\b|\bor later\b"
    rf"|\be?tso{_SEP}c{_SEP}(?:112|145|146|196)[a-z]?\b|\bdo{_SEP}181[a-z]?\b"
    rf"|\bmode{_SEP}s\b|\bextended squitter\b|\bdual{_SEP}link\b"
)
# Letters far beyond those in use are slips of the key.
_GOOD_1090 = re.compile(
    rf"\b(?:e?tso{_SEP})?c{_SEP}166{_SEP}[b-f]\b|\bdo{_SEP}260{_SEP}[b-f]\b"
    rf"|\bed{_SEP}102{_SEP}[a-e]\b|\bcs{_SEP}acns(?:\.d\.adsb(?:\.\d+)?)?\b"
)
_GOOD_UAT = re.compile(rf"\b(?:e?tso{_SEP})?c{_SEP}154{_SEP}[c-f]\b|\bdo{_SEP}282{_SEP}[b-f]\b")
_GOOD_VERSION = re.compile(rf"{_VERSION}[23]{_NO_MORE}")
_OLD_1090 = re.compile(
    rf"\b(?:e?tso{_SEP})?c{_SEP}166(?:{_SEP}a)?\b|\bdo{_SEP}260(?:{_SEP}a)?\b"
    rf"|\bed{_SEP}102\b|\bamc{_SEP}20{_SEP}24\b"
)
_OLD_VERSION = re.compile(rf"{_VERSION}[01]{_NO_MORE}")
_OLD_UAT = re.compile(rf"\b(?:e?tso{_SEP})?c{_SEP}154(?:{_SEP}[ab])?\b|\bdo{_SEP}282(?:{_SEP}a)?\b")
# A number alone may be the software's; a universal access transceiver has such versions too.
_LINK_1090 = re.compile(r"\b1090|\bsquitter\b")
_LINK_UAT = re.compile(rf"\buat\b|\b978|c{_SEP}154|do{_SEP}282")
_PLAIN = re.compile(
    r"(?:1090|978)(?:mhz)?|1090es|es|e|mhz|uat|ads-?b|out|mops|91\.22[57]|14|cfr|far|part|91"
    r"|meets|complies|compliant|with|to|and|rtca|eurocae|faa|easa|transponder|class|a0|a1[sh]?|a2|a3"
    r"|b0|b1s?"
)


class Standard(Enum):
    """What the version on record says of an ADS-B Out."""

    CLASS_A = "good for Class A airspace"
    TOO_OLD = "older than TSO-C166b"
    UAT = "a universal access transceiver, which serves below 18,000 ft only"
    UAT_TOO_OLD = "a universal access transceiver older than TSO-C154c"
    UNKNOWN = "not understood"


def standard_of(version: str | None) -> Standard:
    """Read the standard of an ADS-B Out out of its version on record.

    The text is taken at its word, and only where each word of it is understood: one that names an
    older standard beside a good one, or says anything else (not, pending), proves nothing.

    Examples
    --------
    >>> standard_of("TSO-C166b, 91.227"), standard_of("1090 ES")
    (<Standard.CLASS_A: 'good for Class A airspace'>, <Standard.UNKNOWN: 'not understood'>)
    """
    text = unicodedata.normalize("NFKC", version or "").casefold()
    text = re.sub(r"[\u2010-\u2015\u2212]", "-", text)
    of_1090 = _LINK_1090.search(text) is not None and _LINK_UAT.search(text) is None
    text, es = _GOOD_1090.subn(" ", _BESIDE.sub(" ", text))
    text, uat = _GOOD_UAT.subn(" ", text)
    text, old_es = _OLD_1090.subn(" ", text)
    text, old_uat = _OLD_UAT.subn(" ", text)
    if of_1090:
        text, good_versions = _GOOD_VERSION.subn(" ", text)
        text, old_versions = _OLD_VERSION.subn(" ", text)
        es, old_es = es + good_versions, old_es + old_versions
    if old_es or old_uat:
        if es or uat:
            return Standard.UNKNOWN
        return Standard.TOO_OLD if old_es else Standard.UAT_TOO_OLD
    if not _is_plain(text):
        return Standard.UNKNOWN
    if es:
        return Standard.CLASS_A
    return Standard.UAT if uat else Standard.UNKNOWN


def _is_plain(text: str) -> bool:
    """Whether each word that is left says nothing against the standard."""
    words = (word.strip(".-§'\"") for word in re.split(r"[\s,;:()\[\]/+&]+", text))
    return all(_PLAIN.fullmatch(word) for word in words if word)
