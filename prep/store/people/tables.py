"""The tables of people: who they are, their sessions, invitations and tokens, and the log of who came in.

A secret never stands here: a pass phrase and a PIN by Argon2, every other secret by its SHA-256. Moments are UTC,
ISO 8601.
"""

from sqlalchemy import CheckConstraint, Column, ForeignKey, Index, Integer, UniqueConstraint
from sqlmodel import Field, SQLModel

from prep.store.columns import text_column


def _person(*, null: bool = False) -> "Column[int]":
    return Column(Integer, ForeignKey("person.id"), nullable=null)


class PersonRow(SQLModel, table=True):
    """Somebody who may sign in. `roles` are separated by `;`, `known` is the name's spelling for comparing.

    `issuer` and `subject` are who the school's own provider of sign-ins says it is, where that is linked.
    """

    __tablename__ = "person"
    __table_args__ = (
        CheckConstraint("status IN ('active', 'left')", name="status"),
        UniqueConstraint("known"),
        UniqueConstraint("issuer", "subject", name="uq_person_account"),
    )

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    name: str = Field(sa_column=text_column())
    known: str = Field(sa_column=text_column())
    roles: str = Field(sa_column=text_column())
    status: str = Field(sa_column=text_column())
    pass_phrase: str | None = Field(default=None, sa_column=text_column(null=True))
    pin: str | None = Field(default=None, sa_column=text_column(null=True))
    feed: str | None = Field(default=None, sa_column=text_column(null=True))
    issuer: str | None = Field(default=None, sa_column=text_column(null=True))
    subject: str | None = Field(default=None, sa_column=text_column(null=True))
    made: str = Field(sa_column=text_column())


class SessionRow(SQLModel, table=True):
    """One sign-in on one device; `bench` is a shared tablet that asks who, act by act."""

    __tablename__ = "session"
    __table_args__ = (Index("ix_session_person", "person"),)

    key: str = Field(sa_column=text_column(key=True))
    person: int = Field(sa_column=_person())
    made: str = Field(sa_column=text_column())
    seen: str = Field(sa_column=text_column())
    until: str = Field(sa_column=text_column())
    bench: int = Field(sa_column=Column(Integer, nullable=False))
    device: str = Field(sa_column=text_column())
    address: str = Field(sa_column=text_column())


class InvitationRow(SQLModel, table=True):
    """A link that lets a person choose a pass phrase, once."""

    __tablename__ = "invitation"
    __table_args__ = (Index("ix_invitation_person", "person"),)

    key: str = Field(sa_column=text_column(key=True))
    person: int = Field(sa_column=_person())
    by: str = Field(sa_column=text_column())
    made: str = Field(sa_column=text_column())
    until: str = Field(sa_column=text_column())
    used: str | None = Field(default=None, sa_column=text_column(null=True))


class TokenRow(SQLModel, table=True):
    """A program's key to /api in a person's name. `scopes` are separated by `;`."""

    __tablename__ = "token"
    __table_args__ = (Index("ix_token_person", "person"),)

    key: str = Field(sa_column=text_column(key=True))
    person: int = Field(sa_column=_person())
    name: str = Field(sa_column=text_column())
    scopes: str = Field(sa_column=text_column())
    made: str = Field(sa_column=text_column())
    ended: str | None = Field(default=None, sa_column=text_column(null=True))


class AccessRow(SQLModel, table=True):
    """A line of who came in, who was refused, and whose rights were changed by whom. Append-only.

    `digest` is that of the line and of the line before.
    """

    __tablename__ = "access_log"

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    at: str = Field(sa_column=text_column())
    by: str = Field(sa_column=text_column())
    kind: str = Field(sa_column=text_column())
    about: str = Field(sa_column=text_column())
    address: str = Field(sa_column=text_column())
    digest: str = Field(sa_column=text_column())


class AccessHeadRow(SQLModel, table=True):
    """The number and the digest of the newest line of the log of access: one row, where there is any line."""

    __tablename__ = "access_head"

    line: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    digest: str = Field(sa_column=text_column())


class SubmissionRow(SQLModel, table=True):
    """A form that was sent, written with what it did: the same form sent again does nothing."""

    __tablename__ = "submission"

    key: str = Field(sa_column=text_column(key=True))
    at: str = Field(sa_column=text_column())
