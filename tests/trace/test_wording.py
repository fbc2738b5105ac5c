"""Every kind of entry is told in words, with everything that was written."""

from __future__ import annotations

from typing import get_args

import pytest

from traveler.record.entry import (
    Adjusted,
    Body,
    Complained,
    Confirmed,
    Counted,
    Crated,
    Decided,
    Fitted,
    FollowedUp,
    Issued,
    Noted,
    Packed,
    Photographed,
    Placed,
    Read,
    Released,
    Reprinted,
    Shipped,
    Signed,
    Stopped,
    Struck,
    Ticked,
    Witnessed,
)
from traveler.trace.history import entry_text

TOLD = [
    (
        Issued(product="winder", revision="D", variant="8", digest="0" * 64, order="4471", quantity=60),
        "issued as winder 8, revision D, order 4471, quantity 60",
    ),
    (
        Issued(product="winder", revision="D", variant="8", digest="0"),
        "issued as winder 8, revision D, for stock",
    ),
    (Ticked(), "done"),
    (Confirmed(yes=True), "confirmed"),
    (Confirmed(yes=False), "found not so"),
    (Read(written="0.050 mm", value="0.050", unit="mm"), "read 0.050 mm"),
    (
        Read(written="0,050", value="0.050", unit="mm", unit_from="sheet", gauge="IND-03", as_found=True),
        "read 0,050 mm with IND-03, as found",
    ),
    (Fitted(trace="lot", value="77", number="P-1041"), "fitted P-1041 lot 77"),
    (Signed(), "signed"),
    (Witnessed(), "hold point witnessed"),
    (Counted(good=58, rework=1, scrap=1), "counted 58 good, 1 rework, 1 scrap"),
    (Packed(), "packed"),
    (Photographed(name="crate.jpg"), "photographed (crate.jpg)"),
    (Photographed(), "photographed"),
    (
        Photographed(file="ab12" * 16, name="crate.jpg", text="open crate"),
        "photographed: open crate (crate.jpg, kept as ab12ab12ab12)",
    ),
    (
        Adjusted(done="screw", amount="1/4 turn", advised="turn ¼ clockwise", followed=False),
        "adjusted: screw, 1/4 turn; advised: turn ¼ clockwise, not followed",
    ),
    (Stopped(what="cracked"), "stopped: cracked"),
    (
        Decided(stop=4, decision="use_as_is", concession="C-12", text="cosmetic"),
        "decided on #4: use as is, concession C-12: cosmetic",
    ),
    (Struck(strikes=3, reason="wrong box"), "struck out #3: wrong box"),
    (Released(head="ab" * 32, count=55), "released over 55 entries, chain head abababababab"),
    (Crated(gross_mass="66.0 kg"), "crated, gross 66.0 kg"),
    (Placed(place="Bay 3"), "placed at Bay 3"),
    (Shipped(customer="Weavers", carrier="own van", reference="DN-1"), "shipped to Weavers by own van, DN-1"),
    (Complained(text="noisy", check="sound", reading="80 dB"), "complaint: noisy (sound 80 dB)"),
    (Noted(text="long cable"), "note: long cable"),
    (
        Noted(text="certificate of the motor", file="ab12" * 16, name="c.pdf"),
        "document: certificate of the motor (c.pdf, kept as ab12ab12ab12)",
    ),
    (
        FollowedUp(case=7, step="contained", text="stopped two in stock"),
        "complaint #7, contained: stopped two in stock",
    ),
    (Reprinted(sheet="traveler", copy_number=2), "printed again: traveler, copy 2"),
]


@pytest.mark.parametrize(("body", "words"), TOLD, ids=[body.kind for body, _ in TOLD])
def test_an_entry_is_told(body: Body, words: str) -> None:
    assert entry_text(body) == words


def test_no_kind_of_entry_is_left_out() -> None:
    kinds = {argument.model_fields["kind"].default for argument in get_args(get_args(Body)[0])}
    assert {body.kind for body, _ in TOLD} == kinds
