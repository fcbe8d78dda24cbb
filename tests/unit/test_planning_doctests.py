"""Examples in the documentation give what they show."""

import doctest

import pytest

from nextprobe.planning import exact


@pytest.mark.parametrize("module", [exact])
def test_examples_of_a_module(module):
    failed, tried = doctest.testmod(module)
    assert failed == 0
    assert tried > 0
