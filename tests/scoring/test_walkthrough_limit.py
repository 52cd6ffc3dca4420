import pytest

from scoring import RulebookError, read_rulebook
from tests.scoring.builders import rulebook_text


def test_a_walkthrough_cannot_end_the_rank_of_a_run_that_has_not_begun() -> None:
    written = rulebook_text(clock="{walkthrough: {limit: 6 min, over: did not finish}}")
    with pytest.raises(RulebookError, match=r"clock\.walkthrough\.over: 'did not finish' cannot"):
        read_rulebook(written.encode())
