"""Everything the shells refuse, as one short tree, each with a code for programs and a sentence.

```text
AppError                        code, HTTP status, sentence
├── RefusedError                asked for what is not theirs, not there or not sensible
│   ├── NotSignedInError        no link, a forged one, or one that was revoked
│   ├── ForbiddenError          signed in, but this is another's
│   ├── NotFoundError           no such run, event or page
│   ├── BadMessageError         a message or form of the wrong shape
│   └── ConflictError           no longer possible as things stand
└── StorageError                the database could not do it; nothing was written
    ├── NewerDatabaseError      the database was made by a newer Fairlead
    └── DamagedDatabaseError    the file is no database of ours, or it is broken
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


class RefusedError(AppError):
    """Asked for something that is not theirs, not there or not sensible."""

    code, status = "refused", 400


class NotSignedInError(RefusedError):
    """No link, a forged one, or one that was revoked."""

    code, status = "not_signed_in", 401


class ForbiddenError(RefusedError):
    """Signed in, but this is another's."""

    code, status = "forbidden", 403


class NotFoundError(RefusedError):
    """No such run, event or page."""

    code, status = "not_found", 404


class BadMessageError(RefusedError):
    """A message or form of the wrong shape."""

    code, status = "bad_message", 400


class ConflictError(RefusedError):
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
