"""What one person may lift alone: from which mass on a caution is asked for, and the cover names the lift."""

from __future__ import annotations

from traveler.measure.quantity import Quantity, parse_quantity
from traveler.measure.unreadable import Unreadable

ALONE = parse_quantity("23 kg")
"""Load constant of the revised NIOSH lifting equation (Waters, Putz-Anderson and Garg, 1994), from memory.

It is the most that is recommended under the best of conditions. ISO 11228-1 has 25 kg for that; the lower one
is taken."""


def lifted_alone(text: str) -> Quantity:
    """The mass a shop lets one person lift.

    Raises:
        Unreadable: it is no mass above zero.
    """
    mass = parse_quantity(text).to("kg")
    if mass.value <= 0:
        raise Unreadable("UNT003", f"{text!r} is no mass that can be lifted", "write it like '23 kg'")
    return mass


def too_heavy(mass: str | None, alone: Quantity = ALONE) -> bool:
    """Whether this is more than one person may lift; what is not understood counts as heavy."""
    try:
        return mass is not None and parse_quantity(mass).to("kg").value > alone.to("kg").value
    except Unreadable:
        return True
