"""Plan → views of whole operations: head, steps, closing signature."""

from __future__ import annotations

from traveler.definition.plan import Operation
from traveler.sheets import fonts
from traveler.sheets.fitting import CUT, Space
from traveler.sheets.resources import templates
from traveler.sheets.step_view import OperationView, SignView
from traveler.sheets.step_writer import StepWriter
from traveler.sheets.vocabulary import operation_title, spoken
from traveler.sheets.words import Words

CONTINUED_MM = 174.0
"""Width free for the line of a continued operation, a little on the safe side."""


def operation_view(operation: Operation, writer: StepWriter) -> OperationView:
    """The view of one operation with all its steps."""
    say = writer.say
    title = operation_title(operation, say)
    minutes = "" if operation.minutes is None else say("{minutes}\u00a0min", minutes=operation.minutes)
    return OperationView(
        number=operation.number,
        title=title,
        place=" · ".join(part for part in (operation_place(operation, say), minutes) if part),
        continued=continued(operation.number, title, say),
        cautions=operation.cautions,
        steps=tuple(writer.view(step) for step in operation.steps),
        sign=sign_view(operation, writer),
    )


def continued(number: str, title: str, say: Words) -> str:
    """The line that heads the pages an operation runs over to; a title that is too long is cut."""
    line, kept, space = (
        say("{number}  {title}, continued", number=number, title=title),
        title,
        continued_line(),
    )
    while len(kept) > 1 and not space.fits(line):
        kept = kept.removesuffix(CUT)[:-1].rstrip() + CUT
        line = say("{number}  {title}, continued", number=number, title=kept)
    return line


def continued_line() -> Space:
    """The space of that line."""
    return Space(fonts.face(fonts.SANS_BOLD, templates()), 11, CONTINUED_MM, 1)


def operation_place(operation: Operation, say: Words) -> str:
    """Where it is done; crating says too that it waits for the release."""
    waits = say("after release only") if operation.number == "C" else ""
    return " · ".join(part for part in (operation.area, waits) if part)


def sign_view(operation: Operation, writer: StepWriter) -> SignView | None:
    """The line that closes an operation, or None where nobody signs."""
    slot, say = operation.sign, writer.say
    if slot is None:
        return None
    role = spoken(slot.role, say) if slot.role else say("signed")
    title, when = say("operation {number} complete", number=operation.number), say("date and time")
    return SignView(
        text=say("Operation {number} complete, nothing open", number=operation.number),
        role=role,
        sign=writer.form.box(slot.id, f"{title}: {role}", "sign"),
        when=writer.form.box(f"{slot.id}#at", f"{title}: {when}", "when"),
    )
