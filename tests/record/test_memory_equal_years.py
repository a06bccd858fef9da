"""A river that never changes has no memory, whatever its mean rounds to."""

import math

import numpy as np
import pytest

from model.record.describe import describe_record
from model.record.memory import (
    hurst_k,
    lag_correlation,
    one_shift,
    optimal_block_years,
    shift_explains_persistence,
)
from tests.textbook_dam import record_of_years

YEARS = (20, 100, 130)


@pytest.mark.parametrize("years", YEARS)
@pytest.mark.parametrize("value", [0.0, 0.1, 12345.6, 1e9 / 3])
def test_measures_when_all_years_are_equal_then_there_is_no_memory(
    value: float, years: int
) -> None:
    """The mean of equal numbers may be off in its last digit: that is rounding, not memory."""
    same = np.full(years, value)
    assert lag_correlation(same) == 0.0
    assert math.isnan(hurst_k(same))
    assert one_shift(same).lag_1_without == 0.0
    assert optimal_block_years(same).stationary == 1.0
    assert not shift_explains_persistence(same)


def test_shift_when_each_part_is_level_then_nothing_is_left_without_it() -> None:
    """Two level parts: the shift explains all there is."""
    shifted = np.repeat([0.3, 0.1], 30)
    assert lag_correlation(shifted) > 0.9
    assert one_shift(shifted).lag_1_without == 0.0
    assert shift_explains_persistence(shifted)


def test_description_when_all_years_are_equal_then_it_warns_of_nothing() -> None:
    """No shift, no spread, and a block of one year."""
    river = describe_record(record_of_years([0.1] * 40))
    assert river.cv == 0.0
    assert river.block_years == 1.0
    assert river.warnings == ()
