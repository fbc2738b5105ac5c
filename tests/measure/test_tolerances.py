"""How a text divides into a nominal and its tolerance; what comes of it is tested with the limits."""

from __future__ import annotations

import pytest

from traveler.measure.limits import nominal_and_deviations


@pytest.mark.parametrize(
    ("text", "divided"),
    [
        ("24 N·m ± 1.5", ("24 N·m", ("1.5",))),
        ("24 +2/-1 N·m", ("24", ("+2", "-1 N·m"))),
        ("24 mm + 2 / - 1", ("24 mm", ("+2", "-1"))),
        ("1 in +1/64/-1/32", ("1 in", ("+1/64", "-1/32"))),
        ("1 +1/64/-1/32 in", ("1", ("+1/64", "-1/32 in"))),
        ("24 0/-0.1 mm", ("24", ("0", "-0.1 mm"))),
        ("24 +0.1/0 mm", ("24", ("+0.1", "0 mm"))),
        ("5 mm/m +1/-1", ("5 mm/m", ("+1", "-1"))),
        ("5 +1/-1 mm/m", ("5", ("+1", "-1 mm/m"))),
        ("24 mm", None),
        ("24 +2 mm", None),
        ("24 mm/m", None),
        ("+2/-1", None),
        ("± 1", None),
        ("24 ±", None),
        ("24 ± x", None),
        ("", None),
    ],
)
def test_a_text_divides_into_nominal_and_deviations(
    text: str, divided: tuple[str, tuple[str, ...]] | None
) -> None:
    assert nominal_and_deviations(text) == divided
