"""What all calculations share on arrays."""

from __future__ import annotations

import numpy as np

from kit.basis.arrays import difference


def test_difference_is_missing_where_one_side_is():
    left = difference(np.array([3.0, np.nan, 1.0, np.inf]), np.array([1.0, 1.0, np.inf, np.inf]))
    assert left[0] == 2.0
    assert np.isnan(left[1:]).all()
    assert difference(np.array([3.0, 1.0]), np.array(1.0)).tolist() == [2.0, 0.0]
