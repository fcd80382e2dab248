"""The engine and the plain reference agree on random parcels at the edges of every shipped tariff.

`python -m tests.benchmarks.agreement` holds them together over a million.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.agreement import SHIPPED, differences


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_engine_agrees_with_the_reference_at_the_edges(path: Path, seed: int) -> None:
    """Billable weight, every charge and the total, or that there is no price; to the cent."""
    assert differences(path, count=4000, seed=seed) == []


RICH = Path(__file__).parents[1] / "fixtures" / "every-form.toml"


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_engine_agrees_with_the_reference_on_every_form_of_fact(seed: int) -> None:
    """A made-up tariff that uses all that the grammar has."""
    assert differences(RICH, count=4000, seed=seed) == []
