"""Complaints: ``complain``, and the group ``case``: what is done about them, and what they share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from traveler.cli.answer import Answer, Column, content, table, unless
from traveler.cli.request import Request, Serial, arg, command, flag, maybe_day, opt, shown
from traveler.cli.unit import named
from traveler.finding import CannotDo
from traveler.text import plural

if TYPE_CHECKING:
    from traveler.jobs.case import CaseStep
    from traveler.jobs.contain import Contained
    from traveler.shop.session import Session
    from traveler.trace.cases import CaseFile, ListedCase
    from traveler.trace.common_causes import CommonCauses, RankedCause

Case = Annotated[str, arg("CASE", "Serial of its unit, or SERIAL/NUMBER if that has several cases.")]

LARGEST = 1_000_000_000
"""Bytes beyond which a photograph is not even read."""

FEW = 8
"""Ranks that are shown beside those that cannot be chance."""

MOST_NAMES = 4
"""Factors of one rank that are named."""


def _named(session: Session, case: str) -> str:
    """The case with the whole serial of its unit."""
    serial, slash, number = case.rpartition("/")
    return named(session, serial) + slash + number if slash else named(session, case)


@command("complain", by="needed", at=True)
def complain(
    request: Request,
    serial: Serial,
    text: Annotated[str, opt("TEXT", "What the customer said.")],
    symptom: Annotated[list[str] | None, opt("ID", "From 'symptoms' in shop.yaml; may repeat.")] = None,
    check: Annotated[
        list[str] | None, opt("CHECK", "What the customer measured: runout/spindle=3,end=far.")
    ] = None,
    reading: Annotated[
        list[str] | None, opt("VALUE", "One for each --check: '0.071 mm', or '0.071 mm ± 0.005 mm'.")
    ] = None,
    photo: Annotated[list[Path] | None, opt("FILE", "Photograph or document; may repeat.")] = None,
    contact: Annotated[str | None, opt("TEXT", "Whom to call back.")] = None,
) -> Answer:
    """Record a complaint, and open a case.

    Each --check takes the next --reading. It is compared with the value the unit left with: whether it
    changed by more than the gauges explain, and whether it is within limits.

    Example: traveler complain BW8-2639-0001N --text "Hums at full speed" --symptom noise --by sdock
    """
    from traveler.jobs.complain import Complaint
    from traveler.jobs.complain import complain as job

    checks, readings = check or [], reading or []
    if len(checks) != len(readings):
        what = f"{len(checks)} --check and {len(readings)} --reading"
        raise CannotDo(what, "give each check its reading")
    photos = tuple((str(file), content(file, LARGEST, "nothing was recorded")) for file in photo or ())
    pairs = tuple(zip(checks, readings, strict=True))
    complaint = Complaint(text, tuple(symptom or ()), pairs, photos, contact)
    with request.session() as session:
        done = job(session, named(session, serial), complaint, request.person, request.moment(session))
    lines = []
    if done.case is not None:
        lines = [f"case {done.case.name} is open", *(f"  {value.sentence}" for value in done.values)]
        lines.append(f"next: traveler unit dossier {done.judged.unit.serial}")
    return Answer(done.as_dict(), lines, done.findings, undone=unless(done.case))


@command("case show")
def show(request: Request, case: Case) -> Answer:
    """Show a case: complaint, state and steps.

    Example: traveler case show BW8-2639-0001N
    """
    from traveler.trace.cases import find_case

    with request.session() as session:
        name = _named(session, case)
        with session.store.reading() as records:
            found = find_case(records, name)
    return Answer({"case": found.as_dict()}, _case_lines(found, session.shop.settings.time_zone))


@command("case update", by="needed", at=True, pin=True)
def update(
    request: Request,
    case: Case,
    contained: Annotated[str | None, opt("TEXT", "What keeps it from reaching more customers.")] = None,
    cause: Annotated[str | None, opt("TEXT", "The cause that was found.")] = None,
    lies_in: Annotated[
        list[str] | None, opt("WHAT", "With --cause: 'lot P-2112/78', 'gauge IND-03'; may repeat.")
    ] = None,
    action: Annotated[str | None, opt("TEXT", "What was changed.")] = None,
    due: Annotated[str | None, opt("DAY", "With --action: when to check its effect.")] = None,
    effective: Annotated[str | None, opt("TEXT", "How it was shown that the action works.")] = None,
    not_effective: Annotated[str | None, opt("TEXT", "The action did not work: back to the cause.")] = None,
    close: Annotated[str | None, opt("TEXT", "Closing remark.")] = None,
    unfounded: Annotated[str | None, opt("TEXT", "Close it: it was no fault of ours.")] = None,
    reopen: Annotated[str | None, opt("TEXT", "Open a closed case again.")] = None,
) -> Answer:
    """Take steps in a case: contained, cause, action, close.

    Several steps may be given at once. They are taken in this order, all or none. Each is an entry in the
    unit's record; nothing is overwritten.

    Example: traveler case update BW8-2639-0001N --contained "Lot P-2112/78 is stopped." --by qmoor
    """
    from traveler.jobs.case import follow_up

    texts = {
        "reopened": reopen, "contained": contained, "cause": cause, "action": action,
        "effective": effective, "not_effective": not_effective, "closed": close, "unfounded": unfounded,
    }  # fmt: skip
    steps = _steps(texts, tuple(lies_in or ()), due)
    with request.session("close_case" if close or unfounded else "follow_up") as session:
        name, when = _named(session, case), request.moment(session)
        done = follow_up(session, name, steps, request.person, when)
    lines = _case_lines(done.case, session.shop.settings.time_zone)
    return Answer({"case": done.case.as_dict()}, lines, done.findings)


def _steps(texts: Mapping[str, str | None], lies_in: tuple[str, ...], due: str | None) -> list[CaseStep]:
    from traveler.jobs.case import CaseStep

    if lies_in and texts["cause"] is None:
        what = "--lies-in goes with --cause"
        raise CannotDo(what, "describe the cause in words as well")
    if due is not None and texts["action"] is None:
        what = "--due goes with --action"
        raise CannotDo(what, "give what was changed")
    steps = [
        CaseStep(step, text, lies_in if step == "cause" else (), due if step == "action" else None)
        for step, text in texts.items()
        if text is not None
    ]
    if not steps:
        what = "the step is missing"
        raise CannotDo(what, "give --contained, --cause, --action, --effective, --close or another step")
    return steps


def _case_lines(found: CaseFile, zone: str) -> Iterator[str]:
    """A case as text: state, complaint, and its steps."""
    from traveler.sheets.entry_text import case_step
    from traveler.trace.history import ENGLISH

    complaint = found.complaint
    symptoms = f" [{', '.join(complaint.symptoms)}]" if complaint.symptoms else ""
    yield f"case {found.name}: {found.state}"
    yield f"  {shown(found.opened.at, zone)} {found.opened.by}: complaint{symptoms}: {complaint.text}"
    for entry, step in found.steps:
        lies = f" ({', '.join(step.causes)})" if step.causes else ""
        due = f"; effect to be checked by {step.due}" if step.due else ""
        yield f"  {shown(entry.at, zone)} {entry.by}: {case_step(step.step, ENGLISH)}: {step.text}{lies}{due}"


@command("case list")
def list_cases(
    request: Request,
    opened: Annotated[bool, flag("Only those that are not closed.", "--open")] = False,
    symptom: Annotated[str | None, opt("ID", "Only those with this symptom.")] = None,
) -> Answer:
    """List the cases with state and age, the oldest first.

    Example: traveler case list --open
    """
    from traveler.trace.cases import list_cases as listed

    with request.session() as session, session.store.reading() as records:
        found = listed(session, records, opened=opened, symptom=symptom)
        symptoms = session.shop.settings.symptoms
    if symptom is not None and symptom not in symptoms and not found:
        from traveler.jobs.complain import unknown_symptoms

        (unknown,) = unknown_symptoms(session.shop.settings, [symptom], "")
        raise CannotDo(unknown.what, unknown.hint)
    none = "there is no open case" if opened else "there is no case"
    return Answer({"cases": [case.as_dict() for case in found]}, [_cases_table(found) if found else none])


def _cases_table(found: Iterable[ListedCase]) -> str:
    rows = []
    for listed in found:
        case = listed.case
        due = f", effect due {case.due}{' (overdue)' if listed.overdue else ''}" if case.due else ""
        symptoms = ", ".join(case.complaint.symptoms)
        age = f"{listed.age} d"
        rows.append((case.name, f"{case.state}{due}", age, symptoms, case.complaint.text, listed.where))
    columns = (
        "case", Column("state", text=True), "age", Column("symptoms", text=True, drop=2),
        Column("complaint", text=True), Column("where the unit is", text=True, drop=1),
    )  # fmt: skip
    return table(columns, rows)


@command("case causes")
def causes(request: Request, case: Case) -> Answer:
    """Show what units with the same complaint have in common.

    Strongest link first: lots, suppliers, gauges, people, week, revision, variant, carrier, readings near a
    limit. Each is compared with units without the complaint, and corrected for the number of comparisons.

    Example: traveler case causes BW8-2639-0001N
    """
    from traveler.trace.common_causes import common_causes as job

    with request.session() as session:
        name = _named(session, case)
        with session.store.reading() as records:
            found = job(session, records, name)
    return Answer(found.as_dict(), _causes_lines(found))


def _causes_lines(found: CommonCauses) -> Iterator[str]:
    """The ranking as text: the conclusions, then the table of what this unit has in common."""
    yield f"case {found.case.name}: {found.case.complaint.text}"
    yield f"same complaint: {', '.join(found.complained) or 'none'}"
    yield ""
    yield from found.sentences
    listed = [ranked for ranked in found.ranked if ranked.here or ranked.shared.convincing]
    listed = [ranked for ranked in listed if ranked.shared.carriers < ranked.shared.units]
    listed = [ranked for at, ranked in enumerate(listed) if at < FEW or ranked.shared.convincing]
    if listed:
        columns = (
            "rank", Column("in common", text=True), "complained", Column("units with it", drop=3),
            Column("chance", drop=2), Column("corrected", drop=1), Column("", text=True),
        )  # fmt: skip
        yield ""
        yield table(columns, map(_ranked, listed))
        yield f"next: traveler case contain {found.case.name} --rank {listed[0].shared.rank}"


def _ranked(ranked: RankedCause) -> tuple[str, ...]:
    from traveler.trace.stats.numbers import chance

    shared = ranked.shared
    marks = ("UNLIKELY TO BE CHANCE" if shared.convincing else "", "" if ranked.here else "not on this unit")
    names = [str(factor) for factor in shared.factors]
    more = f" = {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return (
        str(shared.rank),
        " = ".join(names[:MOST_NAMES]) + more,
        f"{shared.hits} of {shared.complained}",
        str(shared.carriers),
        chance(shared.p),
        chance(shared.p_holm) if shared.compared else "too few",
        "; ".join(mark for mark in marks if mark),
    )


@command("case contain", by="optional")
def contain(
    request: Request,
    case: Case,
    rank: Annotated[str | None, opt("N", "Rank in 'case causes'.")] = None,
    lot: Annotated[
        str | None, opt("LOT", "A lot, bought or made here.")
    ] = None,
    gauge: Annotated[str | None, opt("ID", "A gauge.")] = None,
    person: Annotated[str | None, opt("ID", "A person.")] = None,
    week: Annotated[
        str | None, opt("WEEK", "The week of issue, as 2026-W31.")
    ] = None,
    revision: Annotated[str | None, opt("REV", "A revision.")] = None,
    variant: Annotated[str | None, opt("VARIANT", "A variant.")] = None,
    since: Annotated[
        str | None,
        opt("DAY", "With a lot, gauge or person: used from this day.")
    ] = None,
    until: Annotated[
        str | None,
        opt("DAY", "With a lot, gauge or person: used to this day.")
    ] = None,
    stop: Annotated[bool, flag("Stop the units that have not left (with --by).", "--stop")] = False,
    letters: Annotated[
        Path | None,
        opt("FILE", "Write a CSV with a letter for each that left.")
    ] = None,
    text: Annotated[
        str | None,
        opt("TEXT", "The letter; {customer} {serial} {product} {day} {shop} are filled in.")
    ] = None,
) -> Answer:  # fmt: skip
    """List, stop and write about units that share a cause.

    Without --stop and --letters nothing is changed. No unit is stopped twice; the case records what was
    done.

    Example: traveler case contain BW8-2639-0001N --lot P-2112/78 --stop --by qmoor --letters letters.csv
    """
    from traveler.jobs.contain import ContainRequest
    from traveler.jobs.contain import contain as job
    from traveler.sheets.letters import LETTER
    from traveler.trace.common_causes import Cause

    asked = {
        "rank": rank, "lot": lot, "gauge": gauge, "person": person, "week": week, "revision": revision,
        "variant": variant,
    }  # fmt: skip
    given = [(kind, value) for kind, value in asked.items() if value is not None]
    if len(given) != 1:
        what = "name one cause: --rank, --lot, --gauge, --person, --week, --revision or --variant"
        raise CannotDo(what)
    ((kind, value),) = given
    if (since or until) and kind not in ("lot", "gauge", "person"):
        what = f"--since and --until do not go with --{kind}"
        raise CannotDo(what)
    shared = Cause(kind, value, maybe_day(since), maybe_day(until))
    with request.session("follow_up" if stop and request.by else None) as session:
        wanted = ContainRequest(_named(session, case), shared, stop, request.by, letters, text or LETTER)
        done = job(session, wanted)
    return Answer(done.as_dict(), _contained_lines(done), done.findings)


def _contained_lines(done: Contained) -> Iterator[str]:
    """The units as text, and what was done."""
    now = {stopping.serial: stopping for stopping in done.stopped}
    rows = []
    for affected in done.units:
        stopping = now.get(affected.unit.serial)
        act = "letter" if affected.left else "to be stopped" if affected.place.here else ""
        if stopping is not None and stopping.entry is not None:
            act = "stopped" if stopping.new else "stopped before"
        where = stopping.where if stopping is not None and stopping.where else affected.place.text
        rows.append((affected.unit.serial, where, "yes" if affected.complained else "", act))
    units = plural(len(done.units), "unit")
    yield f"{done.cause}: {units}, {len(done.here)} here, {len(done.left)} with customers"
    columns = ("serial", Column("where it is", text=True), Column("complained", drop=1), "action")
    yield table(columns, rows)
    if done.file is not None:
        yield f"{plural(done.letters, 'letter')} in {done.file}"
