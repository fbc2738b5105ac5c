"""QR codes made from symbols made before are the very symbols that the library makes."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.sheets.pdf import codes as qr

PAYLOADS = st.text(sorted(qr.ALPHANUMERIC), min_size=1, max_size=qr.LONGEST_GS1)


@settings(max_examples=60, deadline=None)
@given(payload=PAYLOADS)
def test_any_payload_gives_the_modules_of_the_library(payload: str) -> None:
    assert qr.modules(payload) == qr.matrix(payload)


@pytest.mark.parametrize("payload", ["bw8", "BW8_1", "A" * (qr.LONGEST_GS1 + 1)])
def test_what_is_no_payload_is_refused_as_before(payload: str) -> None:
    with pytest.raises(ValueError, match=r"alphanumeric|characters"):
        qr.modules(payload)
