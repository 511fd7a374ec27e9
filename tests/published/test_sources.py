"""The list of sources holds together.

No published values here: what is checked is that every citation leads to one place, and that what
was not read is not called published.
"""

import importlib
import pkgutil
import re
from collections.abc import Iterator, Mapping
from dataclasses import FrozenInstanceError, fields, is_dataclass

import pytest

import rvsmlog.standards
from rvsmlog.errors import InputError
from rvsmlog.standards import _sources_abroad, _sources_oxygen, _sources_us
from rvsmlog.standards.source import Figure, Source, Status
from rvsmlog.standards.sources import SOURCES, source


def standards_modules() -> list[str]:
    """Name every module of the standards room."""
    path = rvsmlog.standards.__path__
    return [f"rvsmlog.standards.{found.name}" for found in pkgutil.iter_modules(path)]


def cited(value: object) -> Iterator[Source]:
    """Walk through figures, records, tuples and mappings to every source they cite."""
    if isinstance(value, Source):
        yield value
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from cited(getattr(value, field.name))
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from cited(inner)
    elif isinstance(value, tuple):
        for inner in value:
            yield from cited(inner)


def test_no_key_is_used_twice() -> None:
    """The lists hide none of each other's or their own keys."""
    every = (
        *_sources_us.US_SOURCES,
        *_sources_abroad.ABROAD_SOURCES,
        *_sources_oxygen.OXYGEN_ONLY_SOURCES,
    )
    assert len(SOURCES) == len(every)


@pytest.mark.parametrize("key", sorted(SOURCES))
def test_each_source_is_complete(key: str) -> None:
    """A source stands under its own key, a slug, and names document, section and status."""
    place = SOURCES[key]
    assert place.key == key
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", key)
    assert place.document
    assert place.section
    assert isinstance(place.status, Status)
    assert place.status.value in str(place)


@pytest.mark.parametrize("name", standards_modules())
def test_every_cited_source_is_in_the_list(name: str) -> None:
    """No figure cites a place that a reader could not look up by its key."""
    module = importlib.import_module(name)
    for value in vars(module).values():
        for place in cited(value):
            assert SOURCES[place.key] == place


@pytest.mark.parametrize(
    ("key", "status"),
    [
        ("appendix-g-2c", Status.PUBLISHED),
        ("91-411-d", Status.PUBLISHED),
        ("91-213", Status.PUBLISHED),
        ("43-appendix-e-table-1", Status.PUBLISHED),
        ("spa-rvsm-115", Status.PUBLISHED),
        ("nat-doc-001-3-5-1f", Status.PUBLISHED),
        ("aim-4-6-9", Status.PUBLISHED),
        ("ac-91-85b-4-3", Status.SECOND_HAND),
        ("mel-pl-25", Status.SECOND_HAND),
        ("air-ops-article-6", Status.SECOND_HAND),
        ("nat-hla", Status.SECOND_HAND),
        # The agency quotes the paragraph; Annex 6 itself was not read.
        ("annex-6-1-7-2-7", Status.SECOND_HAND),
        ("ac-91-85b-app-b", Status.MEMORY),
        ("us-mel-extension", Status.MEMORY),
        ("annex-6-2-2-5-2-9", Status.MEMORY),
        ("nz-91-605", Status.MEMORY),
        ("casa-periodic-tests", Status.MEMORY),
        ("practice", Status.PRACTICE),
        ("derived", Status.DERIVED),
    ],
)
def test_status_is_honest(key: str, status: Status) -> None:
    """What was read is published, what was not read says so."""
    assert source(key).status is status


def test_common_practice_names_no_document() -> None:
    """Common practice has no edition and no document that would make it look published."""
    places = [place for place in SOURCES.values() if place.status is Status.PRACTICE]
    assert "practice" in {place.key for place in places}
    assert all("ractice" in place.document and not place.edition for place in places)


@pytest.mark.parametrize("key", ["", "91.411-d", "appendix-g-99", "Appendix-G-1"])
def test_an_unknown_key_is_refused(key: str) -> None:
    """An unknown key is an error, never an empty source."""
    with pytest.raises(InputError, match="no source") as caught:
        source(key)
    assert caught.value.hint


def test_an_unknown_key_is_answered_with_its_neighbours() -> None:
    """A mistyped section is answered with the sections there are."""
    with pytest.raises(InputError) as caught:
        source("91-411-e")
    assert "91-411-d" in caught.value.hint


def test_sources_cannot_be_changed() -> None:
    """Neither the list nor a source in it can be changed by the program that reads them."""
    with pytest.raises(TypeError):
        SOURCES["practice"] = source("derived")  # type: ignore[index]  # that it fails is the test
    with pytest.raises(FrozenInstanceError):
        source("practice").status = Status.PUBLISHED  # type: ignore[misc]  # same


def test_a_figure_carries_its_source() -> None:
    """A figure without a note still says where it comes from."""
    figure = Figure(value=1, unit="ft", source=source("practice"))
    assert (figure.note, figure.source.status) == ("", Status.PRACTICE)


@pytest.mark.parametrize("key", sorted(SOURCES))
def test_rule_text_and_what_only_explains_it_are_told_apart(key: str) -> None:
    """Of UK and EU texts only AMC are called acceptable means, and only GM guidance."""
    place = SOURCES[key]
    if "UK and EU air operations rules" not in place.document:
        return
    kind = place.section[:2] if place.section[:2] in ("AM", "GM") else "rule"
    words = {"AM": "Acceptable means", "GM": "Guidance", "rule": "UK and EU"}
    assert place.document.startswith(words[kind])
