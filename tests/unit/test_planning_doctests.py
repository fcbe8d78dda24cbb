"""Examples in the documentation give what they show."""

import doctest
from pathlib import Path

import pytest

from nextprobe.planning import exact

GUIDE = Path(__file__).parents[2] / "docs" / "planning.md"


@pytest.mark.parametrize("module", [exact])
def test_examples_of_a_module(module):
    failed, tried = doctest.testmod(module)
    assert failed == 0
    assert tried > 0


def test_examples_of_the_guide():
    failed, tried = doctest.testfile(str(GUIDE), module_relative=False)
    assert failed == 0
    assert tried > 0
