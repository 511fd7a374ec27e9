"""One command runs the benchmarks: what it names is there, what it does not know is refused."""

from importlib.util import find_spec

import pytest

from tests.benchmarks.__main__ import BENCHES, main


@pytest.mark.parametrize("name", BENCHES)
def test_each_names_a_bench(name: str) -> None:
    """The module of each is there, and has sizes for a short and a full run."""
    module, short, full = BENCHES[name]
    assert find_spec(f"tests.benchmarks.{module}") is not None
    assert short != full


def test_unknown_name_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing runs where a name is none."""
    assert main(["flat", "flet"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "no benchmark flet" in said.err
