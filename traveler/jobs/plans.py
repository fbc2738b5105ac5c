"""The plan of an issued unit: always from the definition it was issued with, as the records keep it."""

from __future__ import annotations

from functools import lru_cache

from traveler.definition.digest import from_canonical
from traveler.definition.expand import expand
from traveler.definition.model import Definition
from traveler.definition.plan import Plan
from traveler.definition.words import LANGUAGE, languages_of
from traveler.record.entry import Issued
from traveler.record.records import Records
from traveler.record.trouble import StoreDamaged
from traveler.record.unit import Unit


def issued_with(records: Records, unit: Unit) -> Issued:
    """What was said when the unit was issued.

    Raises:
        StoreDamaged: its first entry is no issue.
    """
    first = next(iter(records.entries(unit.serial)), None)
    if first is None or not isinstance(first.body, Issued):
        what = f"the records of {unit.serial} do not begin with its issue"
        raise StoreDamaged(what, "run 'traveler verify', and compare with a backup")
    return first.body


def plan_of(records: Records, unit: Unit) -> Plan:
    """The plan of the unit: the stored definition, its variant, its options, its quantity.

    Raises:
        StoreDamaged: the definition is not there any more or cannot be read.
    """
    return plan_as_issued(records, issued_with(records, unit))


def plan_as_issued(records: Records, issued: Issued, language: str = LANGUAGE) -> Plan:
    """The plan that an issue speaks of; see :func:`plan_of`.

    Judging takes it in the first language of definitions always; sheets show its texts in theirs.
    """
    kept = records.definition_of(issued.digest)
    if kept is None:
        what = f"the definition {issued.digest[:12]} of {issued.product} {issued.revision} is not stored"
        raise StoreDamaged(what, "restore a backup")
    return _plan(kept.content, issued.variant, issued.digest, issued.options, issued.quantity, language)


def texts_as_issued(records: Records, issued: Issued, language: str) -> tuple[Plan, ...]:
    """The plan with its texts in each language of a sheet (``es``, ``es+en``), in their order.

    Raises:
        StoreDamaged: see :func:`plan_of`.
    """
    return tuple(plan_as_issued(records, issued, one) for one in languages_of(language))


@lru_cache(maxsize=64)
def _plan(
    content: str, variant: str, digest: str, options: tuple[str, ...], quantity: int | None, language: str
) -> Plan:
    """The plan; the same object for the same unit kind, which the verdict's own look-ups rely on."""
    try:
        definition = _definition(content)
        return expand(definition, variant, digest, language, options=options, quantity=quantity)
    except (ValueError, KeyError) as problem:
        what = f"the stored definition {digest[:12]} cannot be read: {problem}"
        raise StoreDamaged(what, "restore a backup") from problem


@lru_cache(maxsize=32)
def _definition(content: str) -> Definition:
    return from_canonical(content.encode())
