"""``traveler complain``, ``case`` and ``cases``: what customers complain of, and what is done about it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import moment, shown
from traveler.cli.options import At, By, Json, PinFile, Serial, Shop
from traveler.cli.present import CannotDo, answer, table
from traveler.cli.shop_at import session_at
from traveler.cli.signing import signed_in
from traveler.text import did_you_mean

if TYPE_CHECKING:
    from traveler.jobs.case import CaseStep
    from traveler.trace.cases import CaseFile, ListedCase

Case = Annotated[
    str,
    typer.Argument(metavar="SERIAL[/NUMBER]", help="The case: its unit, with the number if it has several."),
]


def register(app: typer.Typer) -> None:
    """Add ``complain``, ``case`` and ``cases``."""
    app.command(name="complain")(complain)
    app.command(name="case")(case)
    app.command(name="cases")(cases)


def complain(
    serial: Serial,
    text: Annotated[str, typer.Option("--text", metavar="TEXT", help="What the customer said.")],
    by: By,
    symptom: Annotated[
        list[str] | None,
        typer.Option("--symptom", metavar="ID", help="From 'symptoms' in shop.yaml; may repeat."),
    ] = None,
    check: Annotated[
        list[str] | None,
        typer.Option(
            "--check", metavar="CHECK", help="What the customer measured: runout/spindle=3,end=far."
        ),
    ] = None,
    reading: Annotated[
        list[str] | None,
        typer.Option(
            "--reading", metavar="VALUE", help="One for each --check: '0.071 mm', or '0.071 mm ± 0.005 mm'."
        ),
    ] = None,
    photo: Annotated[
        list[Path] | None,
        typer.Option("--photo", metavar="FILE", help="A photograph or document; may repeat."),
    ] = None,
    contact: Annotated[
        str | None, typer.Option("--customer-contact", metavar="TEXT", help="Whom to call back.")
    ] = None,
    at: At = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Record a customer's complaint about a unit, set the customer's values beside ours, and open a case.

    Each --check takes the next --reading. It says whether a value changed since the unit left, beyond what
    the gauges can explain, and whether it is inside its limits.

    Example: traveler complain BW8-2639-0001N --text "Hums at full speed" --symptom noise --by sdock
    """
    from traveler.jobs.complain import Complaint
    from traveler.jobs.complain import complain as job
    from traveler.record.plans import checked_serial

    checks, readings = check or [], reading or []
    if len(checks) != len(readings):
        what = f"{len(checks)} --check and {len(readings)} --reading"
        raise CannotDo(what, "give each check its reading")
    asked = checked_serial(serial)
    said = Complaint(
        text,
        tuple(symptom or ()),
        tuple(zip(checks, readings, strict=True)),
        tuple((str(file), file.read_bytes()) for file in photo or ()),
        contact,
    )
    with session_at(shop) as session:
        done = job(session, asked, said, by, moment(at, session.shop.settings.time_zone, session.now))
    lines = []
    if done.case is not None:
        lines = [
            f"case {done.case.name} is open",
            *(f"  {arrival_value.sentence}" for arrival_value in done.values),
        ]
        lines += [f"next: traveler others {done.case.name}; traveler dossier {asked}"]
    return answer(done.as_dict(), done.findings, text="\n".join(lines), json_wanted=json_wanted)


def case(
    name: Case,
    contained: Annotated[
        str | None,
        typer.Option("--contained", metavar="TEXT", help="What keeps it from reaching more customers."),
    ] = None,
    cause: Annotated[
        str | None, typer.Option("--cause", metavar="TEXT", help="The cause that was found.")
    ] = None,
    lies_in: Annotated[
        list[str] | None,
        typer.Option(
            "--lies-in", metavar="WHAT", help="With --cause: 'lot P-2112/78', 'gauge IND-03'; may repeat."
        ),
    ] = None,
    action: Annotated[str | None, typer.Option("--action", metavar="TEXT", help="What was changed.")] = None,
    due: Annotated[
        str | None,
        typer.Option("--due", metavar="DAY", help="With --action: when its effect is to be checked."),
    ] = None,
    effective: Annotated[
        str | None, typer.Option("--effective", metavar="TEXT", help="How it was seen that the action works.")
    ] = None,
    not_effective: Annotated[
        str | None,
        typer.Option("--not-effective", metavar="TEXT", help="That it does not: back to the cause."),
    ] = None,
    close: Annotated[str | None, typer.Option("--close", metavar="TEXT", help="The last word.")] = None,
    unfounded: Annotated[
        str | None, typer.Option("--unfounded", metavar="TEXT", help="Close it: there was no fault of ours.")
    ] = None,
    reopen: Annotated[
        str | None, typer.Option("--reopen", metavar="TEXT", help="Open a closed case again.")
    ] = None,
    by: Annotated[
        str | None, typer.Option("--by", metavar="ID", help="Who does it: an id from people.yaml.")
    ] = None,
    at: At = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Show the case of a complaint, or take steps in it: contained, cause, action, effective, close.

    Several steps may be given at once; they are taken in that order, all or none. Nothing is overwritten:
    each step is an entry in the unit's record.

    Example: traveler case BW8-2639-0001N --contained "Lot P-2112/78 is stopped." --by qmoor
    """
    from traveler.jobs.case import follow_up
    from traveler.trace.cases import find_case

    steps = _steps(
        {
            "reopened": reopen, "contained": contained, "cause": cause, "action": action,
            "effective": effective, "not_effective": not_effective, "closed": close, "unfounded": unfounded,
        },
        tuple(lies_in or ()), due,
    )  # fmt: skip
    if steps and by is None:
        what = "who takes this step?"
        raise CannotDo(what, "give --by ID")
    with session_at(shop) as session:
        zone = session.shop.settings.time_zone
        if not steps:
            with session.store.reading() as records:
                found = find_case(records, name)
            return answer({"case": found.as_dict()}, text=case_text(found, zone), json_wanted=json_wanted)
        signed = signed_in(session, by or "", "close_case" if close or unfounded else "follow_up", pin_file)
        done = follow_up(signed, name, steps, by or "", moment(at, zone, session.now))
    result = {"case": done.case.as_dict()}
    return answer(result, done.findings, text=case_text(done.case, zone), json_wanted=json_wanted)


def _steps(said: dict[str, str | None], causes: tuple[str, ...], due: str | None) -> list[CaseStep]:
    from traveler.jobs.case import CaseStep

    if causes and said["cause"] is None:
        what = "--lies-in goes with --cause"
        raise CannotDo(what, "say the cause in words as well")
    if due is not None and said["action"] is None:
        what = "--due goes with --action"
        raise CannotDo(what, "say what was changed")
    return [
        CaseStep(step, text, causes if step == "cause" else (), due if step == "action" else None)
        for step, text in said.items()
        if text is not None
    ]


def case_text(found: CaseFile, zone: str) -> str:
    """A case as text: state, complaint, and its steps."""
    from traveler.trace.history import FOLLOW_UP

    said = found.complaint
    about = f" [{', '.join(said.symptoms)}]" if said.symptoms else ""
    lines = [
        f"case {found.name}: {found.state}",
        f"  {shown(found.opened.at, zone)} {found.opened.by}: complaint{about}: {said.text}",
    ]
    for entry, step in found.steps:
        lies = f" ({', '.join(step.causes)})" if step.causes else ""
        due = f"; effect to be checked by {step.due}" if step.due else ""
        lines.append(f"  {shown(entry.at, zone)} {entry.by}: {FOLLOW_UP[step.step]}: {step.text}{lies}{due}")
    return "\n".join(lines)


def cases(
    opened: Annotated[bool, typer.Option("--open", help="Only those that are not closed.")] = False,
    symptom: Annotated[
        str | None, typer.Option("--symptom", metavar="ID", help="Only those with this symptom.")
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """List the cases of complaint with their state and age, the oldest first.

    Example: traveler cases --open
    """
    from traveler.trace.cases import list_cases

    with session_at(shop) as session, session.store.reading() as records:
        found = list_cases(session, records, opened=opened, symptom=symptom)
        listed = session.shop.settings.symptoms
    if symptom is not None and symptom not in listed and not found:
        what = f"there is no symptom '{symptom}' in the shop's list"
        hint = did_you_mean(symptom, listed, "see 'symptoms:' in shop.yaml", titles=listed)
        raise CannotDo(what, hint)
    text = cases_table(found) if found else "there is no open case" if opened else "there is no case"
    return answer({"cases": [serial.as_dict() for serial in found]}, text=text, json_wanted=json_wanted)


def cases_table(found: tuple[ListedCase, ...]) -> str:
    """The cases as text."""
    rows = []
    for serial in found:
        due = (
            f", effect due {serial.case.due}{' (overdue)' if serial.overdue else ''}"
            if serial.case.due
            else ""
        )
        rows.append(
            (
                serial.case.name,
                f"{serial.case.state}{due}",
                f"{serial.age} d",
                ", ".join(serial.case.complaint.symptoms),
                serial.case.complaint.text,
                serial.where,
            )
        )
    return table(("case", "state", "age", "symptoms", "complaint", "where the unit is"), rows)
