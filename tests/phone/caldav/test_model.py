"""10,000 random two-sided lives against a server that is a dictionary: both sides converge, nothing is lost."""

import pytest

from tests.phone.caldav.lives import Paper, check, life

SEQUENCES, STEPS_EACH = 10_000, 14


@pytest.mark.parametrize("block", range(10))
def test_random_lives_converge(block: int) -> None:
    for seed in range(block * SEQUENCES // 10, (block + 1) * SEQUENCES // 10):
        try:
            check(life(seed, Paper(), STEPS_EACH))
        except AssertionError as error:
            raise AssertionError(f"seed {seed}: {error}") from error
