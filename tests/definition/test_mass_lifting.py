"""What one person may lift alone."""

from __future__ import annotations

import pytest

from traveler.definition.mass import ALONE, lifted_alone, too_heavy
from traveler.measure.number import Unreadable
from traveler.measure.quantity import parse_quantity


@pytest.mark.parametrize(
    ("mass", "heavy"),
    [("23 kg", False), ("23.01 kg", True), ("50 lb", False), ("51 lb", True), (None, False), ("much", True)],
)
def test_up_to_23_kg_are_lifted_alone(mass, heavy):
    assert too_heavy(mass) is heavy


def test_a_shop_may_take_another_mass():
    alone = lifted_alone("15 kg")
    assert too_heavy("15.1 kg", alone)
    assert not too_heavy("15 kg", alone)
    assert str(ALONE.to("kg")) == "23 kg"
    assert lifted_alone("40 lb").value == parse_quantity("40 lb").to("kg").value


@pytest.mark.parametrize("text", ["0 kg", "-3 kg", "23", "2 m", "heavy"])
def test_what_is_no_mass_is_refused(text):
    with pytest.raises(Unreadable):
        lifted_alone(text)
