"""Makes the assertions of this folder speak plainly when they fail."""

import pytest

pytest.register_assert_rewrite("problem_assertions", "shelf")
