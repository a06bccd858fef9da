"""What seasons brought, followed back through sequences that were one until they parted."""

import numpy as np
import pytest

from model.farm.gathered import GatheredSeason, laid_out


def test_gathered_when_sequences_part_then_each_has_what_its_forebears_brought() -> None:
    """Two part into three in the second season, and three into four in the third; by hand."""
    first, second, third = seasons = [GatheredSeason() for _ in range(3)]
    first.add("ml", np.array([[1.0, 2.0]]))
    first.add("ml", np.array([[10.0, 20.0]]))
    second.add("ml", np.array([[3.0, 4.0]]))
    first.over_and_part(np.array([0, 1, 1]))
    second.part(np.array([0, 1, 1]))
    second.add("ml", np.array([[30.0, 40.0, 50.0]]))
    for season in (first, second):
        season.over_and_part(np.array([0, 2, 2, 1]))
    third.note("aud", np.array([[1.0, 2.0, 3.0, 4.0]]))
    found = laid_out(seasons, {"ml": 0.0, "aud": np.nan}, (1, 4))
    assert found["ml"][0].T.tolist() == [[11, 22, 22, 22], [33, 54, 54, 44], [0, 0, 0, 0]]
    assert found["aud"][0, :, 2].tolist() == [1, 2, 3, 4]
    assert np.isnan(found["aud"][0, :, :2]).all()


def test_gathered_when_an_amount_is_not_a_result_then_it_is_not_found() -> None:
    """A name nobody gathers is refused, not laid out blank."""
    with pytest.raises(KeyError):
        laid_out([GatheredSeason()], {"ml": 0.0}, (1, 1))["aud"]
