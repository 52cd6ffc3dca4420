"""Everything the shells refuse, as one short tree, each with a code for programs and a sentence.

```text
AppError                    code, HTTP status, sentence
├── Refused                 asked for something that is not theirs, not there or not sensible
│   ├── NotSignedIn         no link, a forged one, or one that was revoked
│   ├── Forbidden           signed in, but this is another's
│   ├── NotFound            no such run, event or page
│   ├── BadMessage          a message or form of the wrong shape
│   └── Conflict            no longer possible as things stand
└── StorageError            the database could not do it; nothing was written
    ├── NewerDatabaseError  the database was made by a newer Fairlead
    └── DamagedDatabaseError the file is no database of ours, or it is broken
```

Pages and messages answer all of them in one shape: `{"code": …, "says": …}`.
"""

from typing import Any, ClassVar


class AppError(Exception):
    """A refusal that a person reads (`says`) and a program tells apart (`code`)."""

    code: ClassVar[str] = "error"
    status: ClassVar[int] = 500

    def __init__(self, says: str, code: str | None = None) -> None:
        super().__init__(says)
        self.says = says
        self.own_code = code or self.code

    def shape(self) -> dict[str, Any]:
        """The one shape in which an error leaves the server."""
        return {"code": self.own_code, "says": self.says}


class Refused(AppError):
    """Asked for something that is not theirs, not there or not sensible."""

    code, status = "refused", 400


class NotSignedIn(Refused):
    """No link, a forged one, or one that was revoked."""

    code, status = "not_signed_in", 401


class Forbidden(Refused):
    """Signed in, but this is another's."""

    code, status = "forbidden", 403


class NotFound(Refused):
    """No such run, event or page."""

    code, status = "not_found", 404


class BadMessage(Refused):
    """A message or form of the wrong shape."""

    code, status = "bad_message", 400


class Conflict(Refused):
    """No longer possible as things stand."""

    code, status = "conflict", 409


class StorageError(AppError):
    """The database could not do it; nothing was written."""

    code, status = "storage", 503


class NewerDatabaseError(StorageError):
    """The database was made by a newer Fairlead."""

    code, status = "newer_database", 503


class DamagedDatabaseError(StorageError):
    """The file is no database of ours, or it is broken."""

    code, status = "damaged_database", 503
