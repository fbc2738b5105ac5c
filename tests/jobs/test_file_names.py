"""A file's ending says what is in it."""

from pathlib import Path

import pytest

from traveler.files import named_as
from traveler.finding import CannotDo


@pytest.mark.parametrize("name", [None, "a.html", "b/c.HTM"])
def test_a_name_that_ends_as_it_should(name):
    named_as(None if name is None else Path(name), ".html", ".htm")


@pytest.mark.parametrize("name", ["shop.yaml", "a.pdf", "html", "", "."])
def test_a_name_that_ends_otherwise(name):
    with pytest.raises(CannotDo, match=r"does not end in \.html or \.htm"):
        named_as(Path(name), ".html", ".htm")
