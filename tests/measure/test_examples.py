"""The examples in the docstrings of this room give what they say."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import traveler.measure

MODULES = sorted(module.name for module in pkgutil.iter_modules(traveler.measure.__path__))


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_are_right(name: str) -> None:
    module = importlib.import_module(f"traveler.measure.{name}")
    assert doctest.testmod(module, raise_on_error=False).failed == 0


def test_there_are_examples_to_try() -> None:
    tried = sum(
        doctest.testmod(importlib.import_module(f"traveler.measure.{name}")).attempted for name in MODULES
    )
    assert tried >= 15
