"""The canonical content of a definition, and its digest.

Canonical content is RFC 8785 JSON of the model: keys sorted, every number as the text that was written,
text in Unicode NFC with one micro sign. Comments, key order, quoting and line endings change nothing; any
changed text does. It is what the records keep, and it loads again.
"""

from __future__ import annotations

import hashlib
import json

import rfc8785

from traveler.definition.fields import one_spelling
from traveler.definition.model import Definition


def canonical(definition: Definition) -> bytes:
    """The content as RFC 8785 canonical JSON, UTF-8. What is not given is left out.

    Leaving out defaults keeps the digest of a definition when a later version of the program
    knows further keys. The default of a key never changes within one ``format``.
    """
    content = definition.model_dump(mode="json", exclude_defaults=True)
    content["format"] = definition.format
    return bytes(rfc8785.dumps(one_spelling(content)))


def digest(definition: Definition) -> str:
    """SHA-256 of the canonical content, 64 hexadecimal digits."""
    return hashlib.sha256(canonical(definition)).hexdigest()


def from_canonical(content: bytes) -> Definition:
    """The definition of a kept canonical content.

    Raises:
        ValueError: the bytes are not the content of a definition.
    """
    return Definition.model_validate(json.loads(content))
