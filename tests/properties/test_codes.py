"""Codes are numbered as NumPy numbers them."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from nextprobe.belief.codes import numbered


@given(st.lists(st.one_of(st.integers(0, 30), st.integers(0, 1 << 24)), max_size=40))
def test_codes_are_numbered_in_order(codes: list[int]) -> None:
    occurring, number = numbered(np.array(codes, dtype=np.intp))
    expected, inverse = np.unique(np.array(codes, dtype=np.intp), return_inverse=True)
    np.testing.assert_array_equal(occurring, expected)
    np.testing.assert_array_equal(number, inverse.reshape(-1))
