"""Who did what a results file holds, and when: from the row, the head of the file, or a signature."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from traveler.definition.plan import Plan, Slot, SlotKind
from traveler.finding import Finding
from traveler.record.readers.cells import Cell, ResultRow, Results, read_time, say, tick

_PERSON = re.compile(r"[a-z][a-z0-9_-]*")
SIGNED = (SlotKind.SIGN, SlotKind.WITNESS)
"""Kinds where the value may be the id of the person who signs."""


@dataclass(slots=True)
class Attribution:
    """Answers for one file; what is wrong collects in ``findings``.

    RES044 nobody is named, RES045 not the id of a person, RES047 two persons for one signature, and those of
    :func:`read_time`.
    """

    results: Results
    plan: Plan
    zone: ZoneInfo
    recorder: str | None
    signers: dict[str, ResultRow] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def signed_by(self, rows: list[tuple[ResultRow, Slot]]) -> None:
        """Notes who signed which operation on this file."""
        self.signers = {self._operation(slot): row for row, slot in rows if slot.kind is SlotKind.SIGN}

    def person(self, row: ResultRow, slot: Slot) -> tuple[str, bool] | None:
        """The person's id, and whether the row itself names it; None (with a finding) if nobody is named."""
        own = self._own(row, slot)
        said = own or self.results.head.get("by") or self._signer(slot)
        if said is not None:
            return self.named(said, own=own is not None)
        if self.recorder is not None:
            return self.recorder, False
        at = row.said.get("value", row.slot)
        self.findings.append(say("RES044", at, f"nobody is named for {slot.id}", "fill in by, or give --by"))
        return None

    def named(self, said: Cell, *, own: bool) -> tuple[str, bool] | None:
        """The id that is written there."""
        person = said.text.lower()
        if _PERSON.fullmatch(person):
            return person, own
        self._once(
            say("RES045", said, f"'{said.text[:40]}' is not the id of a person", "write the id, like tkiln")
        )
        return None

    def time(self, row: ResultRow, slot: Slot) -> tuple[datetime | None, bool]:
        """When it was done (None where nobody says), and whether the row or the file itself says so."""
        own = row.said.get("at") or self.results.head.get("at")
        if own is not None:
            return self.moment(own), True
        signed = self.signers.get(self._operation(slot))
        return self.moment(signed.said.get("at") if signed is not None else None), False

    def moment(self, said: Cell | None) -> datetime | None:
        """The time that is written there."""
        read = read_time(said, self.zone) if said is not None else None
        if isinstance(read, Finding):
            self._once(read)
            return None
        return read

    def _own(self, row: ResultRow, slot: Slot) -> Cell | None:
        """Who the row names; a signature names the person who is written in its box."""
        said, value = row.said.get("by"), row.said.get("value")
        if slot.kind not in SIGNED or value is None or tick(value.text) is not None:
            return said
        if said is not None and said.text.lower() != value.text.lower():
            what = f"signed '{value.text[:40]}', but by '{said.text[:40]}'"
            self.findings.append(say("RES047", value, what, "one person signs"))
        return value

    def _signer(self, slot: Slot) -> Cell | None:
        row = self.signers.get(self._operation(slot))
        if row is None:
            return None
        value = row.said.get("value")
        return value if value is not None and tick(value.text) is None else row.said.get("by")

    def _operation(self, slot: Slot) -> str:
        return self.plan.operation_of[slot.id].number

    def _once(self, finding: Finding) -> None:
        """A head or a signature speaks for many rows; what is wrong with it is reported once."""
        if finding not in self.findings:
            self.findings.append(finding)
