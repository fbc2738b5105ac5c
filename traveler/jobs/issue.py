"""Issuing units: serials are given, the definition is frozen, all of it or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from traveler.definition.difference import definition_changes
from traveler.definition.expand import expand
from traveler.definition.fields import languages_of
from traveler.definition.load import Loaded
from traveler.definition.model import Definition, canonical_content, definition_digest, from_canonical
from traveler.definition.plan import Plan
from traveler.definition.serial import check_character_ok, make_serial, mistakable
from traveler.finding import CannotDo, Finding, Place, Weight, blocking
from traveler.jobs.definitions import load_product, product_file
from traveler.jobs.sign import allowed
from traveler.record.entry import Issued, KeptPicture
from traveler.record.records import DefinitionDiffers, IssuedDefinition
from traveler.record.store import Transaction
from traveler.sheets.batch.requests import render_traveler
from traveler.sheets.definition_pictures import keep_pictures
from traveler.sheets.sheet import UnitHeader
from traveler.shop.session import Session
from traveler.text import did_you_mean, read_day

MOST = 10_000
"""Units of one issue; more is a slip of the finger."""


@dataclass(frozen=True, slots=True)
class IssueRequest:
    """What is to be issued. ``quantity`` is that of each lot, for parts made in lots."""

    product: str
    variant: str
    by: str
    count: int = 1
    order: str | None = None
    due: date | None = None
    options: tuple[str, ...] = ()
    quantity: int | None = None


@dataclass(frozen=True, slots=True)
class IssueDone:
    """The serials given, none where a finding blocks; ``changes``: what a changed definition changed."""

    serials: tuple[str, ...]
    plan: Plan | None
    findings: tuple[Finding, ...]
    changes: tuple[str, ...] = ()


def issue(session: Session, wanted: IssueRequest) -> IssueDone:
    """Gives serials to new units of a product and freezes its definition under the revision.

    Findings: all of the definition's; no right to issue (PER001, PER003, GAT002); ISS001 the approver
    was not of engineering; ISS002 quantity and way of tracking do not go together; ISS003 an older revision,
    ISS004 a picture that was changed since (warnings); STO001 the definition was changed without raising
    its revision; those of a traveler that cannot be printed.

    Raises:
        CannotDo: no such product, variant or option, not that many, or a due day in the past.
        StoreError: the records cannot be written.
    """
    loaded = load_product(session.shop, product_file(session.shop, wanted.product))
    definition = loaded.definition
    if definition is None:
        return IssueDone((), None, loaded.findings)
    if wanted.due is not None and wanted.due < session.today:
        what = f"the due day {wanted.due} is in the past; it is {session.today} today"
        raise CannotDo(what, "give the day when it is wanted")
    _choose(definition, wanted)
    findings = (*loaded.findings, *_check(session, wanted, definition, loaded))
    if blocking(findings):
        return IssueDone((), None, findings)
    plan = expand(
        definition,
        wanted.variant,
        definition_digest(definition),
        options=wanted.options,
        quantity=wanted.quantity,
    )
    findings += _unprintable(session, definition, plan, wanted)
    if blocking(findings):
        return IssueDone((), None, findings)
    with session.store.transaction() as work:
        kept = work.put_definition(_frozen(session, definition))
        if isinstance(kept, DefinitionDiffers):
            work.abandon()
            changes = tuple(definition_changes(from_canonical(kept.kept.content.encode()), definition))
            place = loaded.places.get(("revision",), Place())
            return IssueDone((), None, (*findings, replace(kept.finding(), place=place)), changes)
        findings += tuple(_superseded(work, definition))
        pictures, changed = keep_pictures(session, work, definition, plan.digest)
        findings += changed
        given = partial(_give, session, work, wanted, definition, plan.digest, pictures)
        serials = tuple(given() for _ in range(wanted.count))
    return IssueDone(serials, plan, findings)


def _choose(definition: Definition, wanted: IssueRequest) -> None:
    """Refuses what the definition does not have.

    Raises:
        CannotDo: it does not have it.
    """
    if not 1 <= wanted.count <= MOST:
        what = f"--count must be 1 to {MOST}, found {wanted.count}"
        raise CannotDo(what)
    asked = [("variant", wanted.variant, tuple(definition.variants))]
    asked += [("option", option, tuple(definition.options)) for option in wanted.options]
    for word, name, known in asked:
        if name not in known:
            what = f"{definition.product} has no {word} '{name}'"
            raise CannotDo(what, did_you_mean(name, known))


def _check(
    session: Session, wanted: IssueRequest, definition: Definition, loaded: Loaded
) -> Iterator[Finding]:
    shop = session.shop
    yield from allowed(session, "issue", wanted.by)
    approver, revised = definition.approved_by, read_day(definition.revised)
    person = shop.people.get(approver)
    if person is None or not person.holds("engineering", revised):
        what = f"'{approver}' held no role 'engineering' on {revised}, the day of this revision"
        hint = "have it approved by engineering, or correct people.yaml"
        yield Finding("ISS001", what, loaded.places.get(("approved_by",), Place()), hint=hint)
    lot = definition.track == "lot"
    if lot and not wanted.quantity:
        yield Finding(
            "ISS002", f"{definition.product} is made in lots: a quantity is expected", hint="--quantity 60"
        )
    if not lot and wanted.quantity is not None:
        what = f"{definition.product} is built one by one: no quantity is expected"
        yield Finding("ISS002", what, hint="leave --quantity out; --count is the number of units")


def _unprintable(
    session: Session, definition: Definition, plan: Plan, wanted: IssueRequest
) -> tuple[Finding, ...]:
    """What stands against printing a traveler, tried out before the first unit of its kind is issued.

    A unit that was issued and cannot be printed would be a serial on nothing.
    """
    with session.store.reading() as records:
        if records.units(digest=plan.digest, variant=plan.variant, limit=1):
            return ()
    due = wanted.due.isoformat() if wanted.due is not None else None
    like = make_serial(
        definition.serials.pattern, wanted.variant, 1, session.today, product=definition.product
    )
    shown = UnitHeader(like, wanted.order, due, session.today.isoformat())
    texts = tuple(
        expand(
            definition, plan.variant, plan.digest, language, options=wanted.options, quantity=wanted.quantity
        )
        for language in languages_of(session.speaks())
    )
    return tuple(blocking(render_traveler(session, shown, plan, texts=texts).findings))


def _superseded(work: Transaction, definition: Definition) -> Iterator[Finding]:
    """A later revision has units already: this may be the old file, put back."""
    latest = next(iter(reversed(work.revisions(definition.product))), None)
    if latest is not None and latest.revision != definition.revision:
        what = f"revision {latest.revision} was issued after {definition.revision}, which is issued again"
        yield Finding("ISS003", what, weight=Weight.WARNING, hint="is the old file back by mistake?")


def _frozen(session: Session, definition: Definition) -> IssuedDefinition:
    content = canonical_content(definition).decode()
    return IssuedDefinition(
        definition.product, definition.revision, definition_digest(definition), content, session.now
    )  # fmt: skip


def _give(
    session: Session,
    work: Transaction,
    wanted: IssueRequest,
    definition: Definition,
    digest: str,
    pictures: tuple[KeptPicture, ...],
) -> str:
    """Makes one unit under the next serial that may be used (see ``serial.py``) and was never given."""
    pattern, system = definition.serials.pattern, definition.serials.check_character
    while True:
        number = work.next_number(pattern)
        serial = make_serial(pattern, wanted.variant, number, session.today, definition.product, system)
        taken = (serial, *mistakable(serial, system))
        if check_character_ok(serial) and all(work.unit(serial) is None for serial in taken):
            break
    body = Issued(
        product=definition.product,
        revision=definition.revision,
        variant=wanted.variant,
        digest=digest,
        order=wanted.order,
        quantity=wanted.quantity,
        due=wanted.due.isoformat() if wanted.due is not None else None,
        options=wanted.options,
        pictures=pictures,
    )
    work.issue(session.draft(serial, wanted.by, body), session.now)
    return serial
