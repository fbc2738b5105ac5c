"""The examples in the docstrings of this room give what they say."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import traveler.measure

MODULES = sorted(
    module.name for module in pkgutil.walk_packages(traveler.measure.__path__, "traveler.measure.")
)


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_are_right(name: str) -> None:
    module = importlib.import_module(name)
    assert doctest.testmod(module, raise_on_error=False).failed == 0


def test_there_are_examples_to_try() -> None:
    tried = sum(doctest.testmod(importlib.import_module(name)).attempted for name in MODULES)
    assert tried >= 15
