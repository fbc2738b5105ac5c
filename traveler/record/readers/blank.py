"""A file to fill in: every slot of a plan that the floor writes to, as CSV or YAML.

What is left blank is not recorded; a blank read back unchanged holds no result.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from traveler.definition.plan import Plan, Slot, SlotKind, Step
from traveler.files import CSV_MARK, csv_text
from traveler.record.readers.files import COLUMNS

_ASKED = {
    SlotKind.TICK: "yes when done", SlotKind.CONFIRM: "yes or no", SlotKind.WITNESS: "id of the witness",
    SlotKind.SIGN: "id of the person who signs", SlotKind.PHOTO: "name of the photograph",
    SlotKind.PACKED: "yes when packed", SlotKind.COUNT: "12 good, 1 rework, 0 scrap",
}  # fmt: skip


def blank_csv(plan: Plan, serial: str) -> str:
    """A CSV to fill in with a spreadsheet (RFC 4180; a byte order mark tells it that the text is UTF-8)."""
    rows: list[Sequence[str]] = [(f"# {name}: {value}",) for name, value in _head(plan, serial).items()]
    rows.append(COLUMNS)
    for slot in _asked(plan):
        step = plan.step_of.get(slot.id)
        said = {
            "slot": slot.id,
            "label": _label(plan, slot),
            "limits": what_to_write(slot, step),
            "unit": _unit(step),
        }
        rows.append([said.get(name, "") for name in COLUMNS])
    return CSV_MARK + csv_text(rows)


def blank_yaml(plan: Plan, serial: str) -> str:
    """A YAML to fill in with a text editor."""
    head = _head(plan, serial)
    lines = [f"# {head.pop('product')}", "# What stays blank is not recorded.", "format: 1"]
    lines += [f"{name}: {_quoted(value) if value else ''}".rstrip() for name, value in head.items()]
    lines.append("results:")
    number = ""
    for slot in _asked(plan):
        operation, step = plan.operation_of[slot.id], plan.step_of.get(slot.id)
        if operation.number != number:
            number = operation.number
            lines += ["", f"  # ---- {_line(f'{number} {operation.title}')}"]
        lines.append(f"  # {_line(f'{_label(plan, slot)} ({what_to_write(slot, step)})')}")
        lines.append(f"  {_quoted(slot.id)}: {_form(slot, step)}".rstrip())
    return "\n".join(lines) + "\n"


def what_to_write(slot: Slot, step: Step | None) -> str:
    """What a slot asks for, in words: its limits, or what to write."""
    if step is not None and step.limits is not None:
        return step.limits.text
    if slot.kind is SlotKind.PART and step is not None:
        return f"{step.trace or 'serial'} of {step.part_number or step.text}"
    return _ASKED.get(slot.kind, "")


def _head(plan: Plan, serial: str) -> dict[str, str]:
    titles = " · ".join(part for part in (plan.title, plan.variant_title) if part)
    return {
        "product": _line(f"{plan.product}: {titles}"), "serial": serial, "revision": plan.revision,
        "digest": plan.digest, "by": "",
    }  # fmt: skip


def _asked(plan: Plan) -> list[Slot]:
    return [slot for slot in plan.slots() if slot.kind is not SlotKind.WORKED]


def _label(plan: Plan, slot: Slot) -> str:
    if slot.kind is SlotKind.SIGN:
        return f"{plan.operation_of[slot.id].title}: {slot.label}"
    return slot.label


def _unit(step: Step | None) -> str:
    return step.limits.unit if step is not None and step.limits is not None else ""


def _form(slot: Slot, step: Step | None) -> str:
    if slot.kind is not SlotKind.READING:
        return ""
    unit = _unit(step)
    return f"{{value: , unit: {_quoted(unit) if unit else ''}, gauge: }}"


def _quoted(text: str) -> str:
    """A YAML double-quoted scalar (JSON's is one)."""
    return json.dumps(text, ensure_ascii=False)


def _line(text: str) -> str:
    return " ".join(text.split())
