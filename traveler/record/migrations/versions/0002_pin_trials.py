"""Trials of PINs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def _key() -> sa.types.TypeEngine[str]:
    """Text in code point order on both databases."""
    return sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "pin_trial",
        sa.Column("person", _key(), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("last", _key(), nullable=False),
        sa.PrimaryKeyConstraint("person", name="pk_pin_trial"),
        sa.CheckConstraint("failures >= 0", name="ck_pin_trial_failures_counted"),
    )
