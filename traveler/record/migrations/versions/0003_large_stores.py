"""Indexes for questions over many units: one slot of all of them, and the steps of their lives."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add an index by slot, and one of the entries that are not the daily ticking, reading and signing."""
    written = sa.text("slot IS NOT NULL")
    op.create_index(
        "ix_entry_slot_unit", "entry", ["slot", "unit"], sqlite_where=written, postgresql_where=written
    )
    rare = sa.text("kind NOT IN ('confirmed', 'fitted', 'packed', 'read', 'signed', 'ticked')")
    op.create_index(
        "ix_entry_rare", "entry", ["kind", "unit", "recorded"], sqlite_where=rare, postgresql_where=rare
    )
