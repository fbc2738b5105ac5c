"""The plans of many units while records are read, and everything a product's plans ever asked for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from traveler.definition.digest import from_canonical
from traveler.definition.plan import Plan
from traveler.jobs.plans import plan_as_issued
from traveler.record.entry import Entry, Issued
from traveler.record.glance import Glimpse
from traveler.record.records import Records
from traveler.record.trouble import StoreDamaged
from traveler.record.unit import Unit


class Plans:
    """Plans by what units were issued with; units issued alike share one."""

    def __init__(self, records: Records) -> None:
        self._records = records
        self._kept: dict[tuple[str, str, tuple[str, ...], int | None], Plan] = {}

    def plan(self, unit: Unit, entries: Iterable[Entry]) -> Plan:
        """The plan of the unit, from its first entry.

        Raises:
            StoreDamaged: it has none, or its definition cannot be read.
        """
        first = next(iter(entries), None)
        if first is None or not isinstance(first.body, Issued):
            what = f"the records of {unit.serial} do not begin with its issue"
            raise StoreDamaged(what, "run 'traveler verify', and compare with a backup")
        return self._of(first.body)

    def seen(self, entries: Iterable[Glimpse]) -> Plan | None:
        """The plan by a light look at a unit's entries; None where its issue is not among them.

        Raises:
            StoreDamaged: its definition cannot be read.
        """
        issued = next((one for one in entries if one.kind == "issued"), None)
        if issued is None:
            return None
        try:
            return self._of(Issued.model_validate(issued.says()))
        except ValueError as problem:
            raise issued.damaged() from problem

    def _of(self, body: Issued) -> Plan:
        key = (body.digest, body.variant, body.options, body.quantity)
        if key not in self._kept:
            self._kept[key] = plan_as_issued(self._records, body)
        return self._kept[key]

    def of_product(self, product: str) -> Iterator[Plan]:
        """A plan of every revision and variant of the product that was frozen, with every option."""
        for kept in self._records.revisions(product):
            definition = from_canonical(kept.content.encode())
            for variant in definition.variants:
                body = Issued(
                    product=product, revision=kept.revision, variant=variant, digest=kept.digest,
                    options=tuple(definition.options), quantity=1 if definition.track == "lot" else None,
                )  # fmt: skip
                yield plan_as_issued(self._records, body)
