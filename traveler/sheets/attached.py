"""The plan inside the PDF, so that a sheet explains itself in ten years."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from traveler.definition.plan import Plan
from traveler.record.entry import Entry


@dataclass(frozen=True, slots=True)
class Attached:
    """A file inside the PDF; ``relation`` says what it is to the sheet (PDF/A-3, AFRelationship)."""

    name: str
    content: bytes
    relation: str = "Source"


def attached_plan(plan: Plan) -> Attached:
    """The plan as ``plan.json``; ``Plan.model_validate_json`` reads it back."""
    return Attached("plan.json", (plan.model_dump_json(indent=1) + "\n").encode("utf-8"))


def attached_entries(entries: Iterable[Entry]) -> Attached:
    """The entries as ``entries.json``, complete, in order; ``Entry.model_validate`` reads each back."""
    content = json.dumps([one.model_dump(mode="json") for one in entries], indent=1, ensure_ascii=False)
    return Attached("entries.json", (content + "\n").encode("utf-8"), "Data")
