"""Every kind of entry is listed in words, with everything that was written."""

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
from traveler.sheets.entry_text import entry_text
from traveler.trace.history import ENGLISH

TOLD = [
    (
        Issued(product="winder", revision="D", variant="8", digest="0" * 64, order="4471", quantity=60),
        "issued, variant 8, revision D, order 4471, quantity 60",
    ),
    (
        Issued(product="winder", revision="D", variant="8", digest="0"),
        "issued, variant 8, revision D",
    ),
    (Ticked(), "done"),
    (Confirmed(yes=True), "confirmed"),
    (Confirmed(yes=False), "not confirmed"),
    (Read(written="0.050 mm", value="0.050", unit="mm"), "read 0.050 mm"),
    (
        Read(written="0,050", value="0.050", unit="mm", unit_from="sheet", gauge="IND-03", as_found=True),
        "read 0,050 mm, with IND-03, as found",
    ),
    (Fitted(trace="lot", value="77", number="P-1041"), "fitted P-1041 lot 77"),
    (Signed(), "signed"),
    (Witnessed(), "hold point signed"),
    (Counted(good=58, rework=1, scrap=1), "58 good, 1 rework, 1 scrap"),
    (Packed(), "packed"),
    (Photographed(name="crate.jpg"), "photograph crate.jpg"),
    (Photographed(), "photograph"),
    (
        Photographed(file="ab12" * 16, name="crate.jpg", text="open crate"),
        f"photograph crate.jpg, open crate, SHA-256 {'ab12' * 16}",
    ),
    (
        Adjusted(done="screw", amount="1/4 turn", advised="turn ¼ clockwise", followed=False),
        "adjusted: screw, 1/4 turn, advised: turn ¼ clockwise, not followed",
    ),
    (Stopped(what="cracked"), "stopped: cracked"),
    (
        Decided(stop=4, decision="use_as_is", concession="C-12", text="cosmetic"),
        "decided on #4, use as is, concession C-12, cosmetic",
    ),
    (Struck(strikes=3, reason="wrong box"), "struck out #3: wrong box"),
    (Released(head="ab" * 32, count=55), f"released after 55 entries, last link {'ab' * 32}"),
    (Crated(gross_mass="66.0 kg"), "crated, 66.0 kg"),
    (Placed(place="Bay 3"), "placed: Bay 3"),
    (Shipped(customer="Weavers", carrier="own van", reference="DN-1"), "shipped to Weavers, own van, DN-1"),
    (
        Complained(text="noisy", check="sound", reading="80 dB", symptoms=("noise",), photos=("ab12" * 16,)),
        "complaint: noisy, noise, sound, 80 dB, photographs: 1",
    ),
    (Noted(text="long cable"), "long cable"),
    (
        Noted(text="certificate of the motor", file="ab12" * 16, name="c.pdf"),
        f"certificate of the motor, c.pdf, SHA-256 {'ab12' * 16}",
    ),
    (
        FollowedUp(case=7, step="contained", text="stopped two in stock", due="2026-12-01"),
        "case #7, contained: stopped two in stock, effect to be checked by 2026-12-01",
    ),
    (Reprinted(sheet="traveler", copy_number=2), "reprinted: Traveler, copy 2"),
]


@pytest.mark.parametrize(("body", "words"), TOLD, ids=[body.kind for body, _ in TOLD])
def test_an_entry_is_told(body: Body, words: str) -> None:
    assert entry_text(body, ENGLISH) == words


def test_no_kind_of_entry_is_left_out() -> None:
    kinds = {argument.model_fields["kind"].default for argument in get_args(get_args(Body)[0])}
    assert {body.kind for body, _ in TOLD} == kinds
