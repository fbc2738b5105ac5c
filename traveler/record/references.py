"""What an entry refers to: the pairs (kind, value) that where-used questions look up."""

from __future__ import annotations

import unicodedata

from traveler.record.entry import Complained, Draft, Fitted, FollowedUp, Issued, Read, Shipped, utc

KINDS = ("gauge", "lot", "part_serial", "person", "customer", "order", "complaint", "symptom", "cause")
"""The kinds of reference there are; that of a ``complaint`` is its day (UTC), so that they can be listed."""


def reference_value(text: str) -> str:
    """The value as it is looked up: one Unicode form, upper case, single spaces.

    >>> reference_value(" lot  4711a ")
    'LOT 4711A'
    """
    return " ".join(unicodedata.normalize("NFC", text).upper().split())


def references(draft: Draft) -> tuple[tuple[str, str], ...]:
    """The (kind, value) pairs of an entry or draft, each once, values as :func:`reference_value` gives."""
    found = [("person", draft.by)]
    match draft.body:
        case Read(gauge=str(gauge)):
            found.append(("gauge", gauge))
        case Fitted(trace="lot", value=lot):
            found.append(("lot", lot))
        case Fitted(value=serial):
            found.append(("part_serial", serial))
        case Shipped(customer=customer):
            found.append(("customer", customer))
        case Issued(order=str(order)):
            found.append(("order", order))
        case Complained(symptoms=symptoms):
            found += [
                ("complaint", utc(draft.at).date().isoformat()),
                *(("symptom", one) for one in symptoms),
            ]
        case FollowedUp(causes=causes):
            found += [("cause", one) for one in causes]
        case _:
            pass
    return tuple(dict.fromkeys((kind, reference_value(value)) for kind, value in found))
