"""How a rule is declared: what is refused at import, and what a page gives."""

from collections.abc import Iterator

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.base import Result, Rule, met, rule
from tests.rules.conftest import Make

PAGE = """Fault in a few words.

Checks: The one thing,
over two lines.

Why: A reason.

Remedy: What to do.

Known problems: None.
"""


def declared(page: str, *sources: str) -> Rule:
    """Declare a rule with a page and sources."""

    def fault_named_so(facts: Facts) -> Iterator[Result]:
        yield met(facts.particulars.registration)

    fault_named_so.__doc__ = page
    return rule(*sources)(fault_named_so)


def test_the_name_is_the_functions_and_the_page_its_docstring(make: Make) -> None:
    """Summary and sections come from the docstring, each on one line."""
    made = declared(PAGE, "practice")
    assert made.name == "fault-named-so"
    assert made.summary == "Fault in a few words."
    assert made.section("Checks") == "The one thing, over two lines."
    assert made.section("Known problems") == "None."
    assert made.section("Nothing") == ""
    (finding,) = made.findings(make.facts())
    assert (finding.rule, finding.says, finding.sources) == (
        "fault-named-so",
        "QX-ABC",
        ("practice",),
    )


@pytest.mark.parametrize("heading", ["Checks", "Why", "Remedy", "Known problems"])
def test_a_page_without_a_heading_is_refused(heading: str) -> None:
    """Each heading must stand at the start of a line."""
    with pytest.raises(TypeError, match=f"fault-named-so: its docstring has no heading '{heading}"):
        declared(PAGE.replace(f"{heading}: ", ""), "practice")


def test_a_rule_without_a_source_is_refused() -> None:
    """A rule that rests on nothing is refused."""
    with pytest.raises(TypeError, match="names no source"):
        declared(PAGE)


def test_an_unknown_source_is_refused() -> None:
    """A source that is not on the list is refused."""
    with pytest.raises(TypeError, match="unknown source 'hearsay'"):
        declared(PAGE, "practice", "hearsay")
