"""The first store: tables and the guards that refuse a change of what was written."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def _key() -> sa.types.TypeEngine[str]:
    """Text in code point order on both databases."""
    return sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Create everything."""
    _units()
    _entries()
    _small_tables()
    for table in ("entry", "ref", "definition"):
        (_guard_postgresql if op.get_bind().dialect.name == "postgresql" else _guard_sqlite)(table)


def _units() -> None:
    op.create_table(
        "definition",
        sa.Column("product", _key(), nullable=False),
        sa.Column("revision", _key(), nullable=False),
        sa.Column("digest", _key(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("first_issued", _key(), nullable=False),
        sa.PrimaryKeyConstraint("product", "revision", name="pk_definition"),
        sa.UniqueConstraint("digest", name="uq_definition_digest"),
    )
    op.create_table(
        "unit",
        sa.Column("serial", _key(), nullable=False),
        sa.Column("product", _key(), nullable=False),
        sa.Column("revision", _key(), nullable=False),
        sa.Column("variant", _key(), nullable=False),
        sa.Column("digest", _key(), nullable=False),
        sa.Column("issued", _key(), nullable=False),
        sa.Column("order_reference", _key()),
        sa.Column("quantity", sa.Integer()),
        sa.Column("state", _key(), nullable=False),
        sa.Column("entries", sa.Integer(), nullable=False),
        sa.Column("head", _key(), nullable=False),
        sa.PrimaryKeyConstraint("serial", name="pk_unit"),
        sa.ForeignKeyConstraint(["digest"], ["definition.digest"], name="fk_unit_digest_definition"),
        sa.CheckConstraint("entries >= 0", name="ck_unit_entries_counted"),
    )
    op.create_index("ix_unit_product_issued", "unit", ["product", "issued"])
    op.create_index("ix_unit_state_issued", "unit", ["state", "issued"])
    op.create_index("ix_unit_order_reference", "unit", ["order_reference"])
    op.create_index("ix_unit_digest", "unit", ["digest"])


def _entries() -> None:
    op.create_table(
        "entry",
        sa.Column("unit", _key(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("at", _key(), nullable=False),
        sa.Column("recorded", _key(), nullable=False),
        sa.Column("by", _key(), nullable=False),
        sa.Column("slot", _key()),
        sa.Column("zone", _key()),
        sa.Column("source", _key(), nullable=False),
        sa.Column("kind", _key(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("previous", _key(), nullable=False),
        sa.Column("hash", _key(), nullable=False),
        sa.PrimaryKeyConstraint("unit", "seq", name="pk_entry"),
        sa.ForeignKeyConstraint(["unit"], ["unit.serial"], name="fk_entry_unit_unit"),
        sa.CheckConstraint("seq > 0", name="ck_entry_seq_from_one"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "ref",
        sa.Column("kind", _key(), nullable=False),
        sa.Column("value", _key(), nullable=False),
        sa.Column("unit", _key(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("kind", "value", "unit", "seq", name="pk_ref"),
        sa.ForeignKeyConstraint(["unit", "seq"], ["entry.unit", "entry.seq"], name="fk_ref_unit_seq_entry"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_ref_unit_seq", "ref", ["unit", "seq"])


def _small_tables() -> None:
    op.create_table(
        "counter",
        sa.Column("key", _key(), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_counter"),
    )
    op.create_table(
        "attachment",
        sa.Column("digest", _key(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("added", _key(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_attachment"),
    )
    op.create_table(
        "seen_file",
        sa.Column("digest", _key(), nullable=False),
        sa.Column("unit", _key(), nullable=False),
        sa.Column("seen", _key(), nullable=False),
        sa.PrimaryKeyConstraint("digest", "unit", name="pk_seen_file"),
        sa.ForeignKeyConstraint(["unit"], ["unit.serial"], name="fk_seen_file_unit_unit"),
    )
    op.create_table(
        "form_token",
        sa.Column("token", _key(), nullable=False),
        sa.Column("used", _key(), nullable=False),
        sa.PrimaryKeyConstraint("token", name="pk_form_token"),
    )


def _guard_sqlite(table: str) -> None:
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER only_append_{table}_{act.lower()} BEFORE {act} ON {table} "
            "BEGIN SELECT RAISE(ABORT, 'what is recorded is only ever added to'); END"
        )


def _guard_postgresql(table: str) -> None:
    op.execute(
        f"CREATE FUNCTION refuse_change_of_{table}() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'what is recorded is only ever added to'; END $$"
    )
    op.execute(
        f"CREATE TRIGGER only_append_{table} BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION refuse_change_of_{table}()"
    )
    op.execute(f"REVOKE UPDATE, DELETE, TRUNCATE ON {table} FROM PUBLIC")
    # UPDATE stays with the owner: a foreign key check locks the row it refers to, which needs that right
    op.execute(f"REVOKE DELETE, TRUNCATE ON {table} FROM CURRENT_USER")
