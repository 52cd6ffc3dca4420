"""Make the record, the directory and the triggers that keep record and postings as they are."""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

#: A table, what numbers its rows, which of them count together, what else must be new.
_APPEND_ONLY: Final = (
    ("entries", "seq", "TRUE", "EXISTS (SELECT 1 FROM entries WHERE id = NEW.id)"),
    ("postings", "number", "event = NEW.event", "FALSE"),
)


def upgrade() -> None:
    """Make everything."""
    op.create_table(
        "entries",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("run", sa.Text, nullable=False, index=True),
        sa.Column("received_at", sa.Integer, nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "events",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("rulebook", sa.LargeBinary, nullable=False),
        sa.Column("opened_at", sa.Integer, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "teams",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("division", sa.Text, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "people",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "runs",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("event", sa.Text, sa.ForeignKey("events.id"), nullable=False, index=True),
        sa.Column("team", sa.Text, sa.ForeignKey("teams.id"), nullable=False),
        sa.Column("bay", sa.Text, nullable=False),
        sa.Column("turn", sa.Integer, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "links",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("person", sa.Text, sa.ForeignKey("people.id"), nullable=False),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("event", sa.Text, sa.ForeignKey("events.id"), nullable=False, index=True),
        sa.Column("post", sa.Text),
        sa.Column("team", sa.Text, sa.ForeignKey("teams.id")),
        sa.Column("made_at", sa.Integer, nullable=False),
        sa.Column("revoked_at", sa.Integer),
        sqlite_strict=True,
    )
    op.create_table(
        "postings",
        sa.Column("event", sa.Text, sa.ForeignKey("events.id"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("standing", sa.Text, nullable=False),
        sa.Column("posted_at", sa.Integer, nullable=False),
        sa.Column("by", sa.Text, sa.ForeignKey("people.id"), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("rulebook_hash", sa.Text, nullable=False),
        sa.Column("head_seq", sa.Integer, nullable=False),
        sa.Column("head_hash", sa.Text, nullable=False),
        sa.Column("engine", sa.Text, nullable=False),
        sa.Column("content", sa.Text, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "secret",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("secret", sa.LargeBinary, nullable=False),
        sqlite_strict=True,
    )
    for table, number, together, known in _APPEND_ONLY:
        for what in ("update", "delete"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{what} BEFORE {what} ON {table} BEGIN"
                f" SELECT RAISE(ABORT, '{table} are only ever added to'); END"
            )
        # Holds REPLACE too, which deletes past a trigger unless recursive triggers are on.
        last = f"(SELECT coalesce(max({number}), 0) FROM {table} WHERE {together})"  # noqa: S608
        op.execute(
            f"CREATE TRIGGER {table}_at_the_end BEFORE INSERT ON {table}"
            f" WHEN {known} OR NEW.{number} <> {last} + 1"
            f" BEGIN SELECT RAISE(ABORT, '{table} are only added to at their end'); END"
        )
