"""The first form of the tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from ventwright.quantities import UserError
from ventwright.store.migrations.triggers_0001 import trigger_statements

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Make the tables and what guards them."""
    _head(
        "house",
        *(_text("name"), _text("place"), _text("name_key"), _text("search_text")),
    )
    op.create_index("ix_house_name_key_id", "house", ["name_key", "id"])
    _head(
        "visit",
        sa.Column("house", _TEXT, sa.ForeignKey("house.id", name="fk_visit_house"), nullable=False),
        sa.Column("started_at", _TEXT),
        *(
            _text("technician"),
            _text("purpose"),
            sa.Column("is_closed", sa.Integer, nullable=False),
        ),
    )
    op.create_index("ix_visit_house_started_at_id", "visit", ["house", "started_at", "id"])
    op.create_index("ix_visit_changed_at_id", "visit", ["changed_at", "id"])
    _head(
        "instrument",
        *(_text("name"), _text("kind"), _text("serial_no")),
        *(sa.Column("calibrated_on", _TEXT), sa.Column("calibration_due", _TEXT)),
    )
    for series in ("house", "visit", "instrument"):
        _entries(series)
    op.create_table(
        "report",
        sa.Column(
            "house", _TEXT, sa.ForeignKey("house.id", name="fk_report_house"), nullable=False
        ),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column(
            "visit", _TEXT, sa.ForeignKey("visit.id", name="fk_report_visit"), nullable=False
        ),
        sa.Column("entry_number", sa.Integer, nullable=False),
        _text("issued_at"),
        sa.PrimaryKeyConstraint("house", "number", name="pk_report"),
        sa.UniqueConstraint("visit", "entry_number", name="uq_report_visit_entry_number"),
        sqlite_strict=True,
    )
    op.create_table(
        "blob",
        _text("sha256"),
        _text("media_type"),
        sa.Column("byte_count", sa.Integer, nullable=False),
        sa.Column("is_deflated", sa.Integer, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_blob"),
        sqlite_strict=True,
    )
    for statement in trigger_statements(op.get_bind().dialect.name):
        op.get_bind().exec_driver_sql(statement)


def downgrade() -> None:
    """Refuse: nothing that was recorded is thrown away."""
    raise UserError("the record has no way back to an older form; restore a backup instead")


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, _TEXT, nullable=False)


def _head(name: str, *columns: sa.Column[str] | sa.Column[int]) -> None:
    op.create_table(
        name,
        _text("id"),
        sa.Column("number", sa.Integer, nullable=False),
        _text("sha256"),
        _text("changed_at"),
        *columns,
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.CheckConstraint("number >= 0", name=sa.schema.conv(f"ck_{name}_number")),
        sqlite_strict=True,
    )


def _entries(series: str) -> None:
    name = f"{series}_entry"
    op.create_table(
        name,
        sa.Column(
            "owner", _TEXT, sa.ForeignKey(f"{series}.id", name=f"fk_{name}_owner"), nullable=False
        ),
        sa.Column("number", sa.Integer, nullable=False),
        *(_text("kind"), _text("id"), sa.Column("supersedes", _TEXT)),
        sa.Column("contests_number", sa.Integer),
        *(_text("content"), _text("content_sha256"), _text("via"), _text("sealed_at")),
        *(_text("previous_sha256"), _text("sha256")),
        sa.PrimaryKeyConstraint("owner", "number", name=f"pk_{name}"),
        sa.UniqueConstraint(
            *("owner", "kind", "id", "content_sha256"),
            name=f"uq_{name}_owner_kind_id_content_sha256",
        ),
        sqlite_strict=True,
    )
    where = sa.text("supersedes IS NOT NULL")
    op.create_index(
        f"ix_{name}_supersedes",
        name,
        ["owner", "kind", "supersedes"],
        sqlite_where=where,
        postgresql_where=where,
    )
