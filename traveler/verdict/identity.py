"""Findings about what belongs to what: serial, definition, sheet, chain (IDN001 to IDN007)."""

from __future__ import annotations

from collections.abc import Iterator

from traveler.definition.serial import verify
from traveler.finding import Finding
from traveler.record.entry import Issued, Released
from traveler.verdict.case import Case


def check_identity(case: Case) -> Iterator[Finding]:
    """Whether serial, plan and entries belong together."""
    if (wrong := verify(case.unit)) is not None:
        yield case.say("IDN001", wrong.what, hint="compare it with the nameplate, character by character")
    for entry in case.entries:
        if entry.unit != case.unit:
            yield case.say(
                "IDN004",
                f"entry of {entry.unit}",
                slot=entry.slot,
                entry=entry.seq,
                hint="run traveler verify",
            )
    issues = case.of_kind("issued")
    if not issues:
        yield case.say("IDN005", "there is no entry of its issue", hint="issue it, or look the serial up")
    for entry in issues:
        if isinstance(entry.body, Issued):
            yield from _plan(case, entry.seq, entry.body)


def _plan(case: Case, seq: int, issued: Issued) -> Iterator[Finding]:
    plan = case.plan
    built = (issued.product, issued.revision, issued.variant)
    judged = (plan.product, plan.revision, plan.variant)
    if built != judged:
        what = f"issued as {' '.join(built)}, judged by the plan of {' '.join(judged)}"
        yield case.say("IDN006", what, entry=seq, hint="judge it by the plan it was issued with")
    elif issued.digest != plan.digest:
        what = f"issued with definition {issued.digest[:12]}…, judged by {plan.digest[:12]}…"
        yield case.say("IDN003", what, entry=seq, hint="judge it by the definition it was issued with")
    stored = case.facts.stored_digest
    if stored is not None and stored != issued.digest:
        what = f"issued with definition {issued.digest[:12]}…, stored under that revision is {stored[:12]}…"
        yield case.say("IDN003", what, entry=seq, hint="run traveler verify, and compare with a backup")


def check_sheets(case: Case) -> Iterator[Finding]:
    """Entries that came from a sheet or file of another revision than the unit was issued with."""
    if not case.facts.sheet_revisions and not case.facts.sheet_digests:
        return
    for entry in case.standing:
        revision = case.facts.sheet_revisions.get(entry.seq)
        digest = case.facts.sheet_digests.get(entry.seq)
        if revision is not None and revision != case.plan.revision:
            what = f"came from a sheet of revision {revision}, the unit is built to {case.plan.revision}"
        elif digest is not None and digest != case.plan.digest:
            what = f"came from a sheet of definition {digest[:12]}…, built to is {case.plan.digest[:12]}…"
        else:
            continue
        yield case.say(
            "IDN002", what, slot=entry.slot, entry=entry.seq, hint="print the right sheet, and do it again"
        )


def check_chain(case: Case) -> Iterator[Finding]:
    """What the verification of the chain found, and releases that do not fit the entries before them."""
    yield from case.facts.chain
    by_seq = {entry.seq: entry for entry in case.entries}
    for entry in case.of_kind("released"):
        body = entry.body
        if not isinstance(body, Released):
            continue
        before = by_seq.get(entry.seq - 1)
        head = before.hash if before is not None else None
        if body.count != entry.seq - 1 or body.head != head:
            what = (
                f"the release seals {body.count} entries ending in {body.head[:12]}…; found {entry.seq - 1}"
            )
            yield case.say(
                "IDN007", what, entry=entry.seq, hint="run traveler verify, and compare with a backup"
            )
