"""Reading damaged text: SQLite keeps whatever bytes were put into a column, and its driver refuses bad ones.

A check of the records must be able to say which entry is damaged, so it reads such bytes as half characters,
which no hash of ours covers.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import TypeVar

from sqlalchemy import Connection
from sqlalchemy.exc import OperationalError

Result = TypeVar("Result")


def readable(connection: Connection, ask: Callable[[], Result]) -> Result:
    """What ``ask`` gives; asked again, leniently, where SQLite holds bytes that are no UTF-8."""
    try:
        return ask()
    except OperationalError as problem:
        driver = connection.connection.dbapi_connection
        if "decode" not in str(problem.orig).lower() or not isinstance(driver, sqlite3.Connection):
            raise
        driver.text_factory = lambda content: content.decode(errors="surrogateescape")
        try:
            return ask()
        finally:
            driver.text_factory = str
