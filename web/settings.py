"""Settings, read once. Each is an option of a command too; README lists them."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

#: Only this machine, until told otherwise.
HOST: Final = "127.0.0.1"
PORT: Final = 8460


@dataclass(frozen=True, slots=True)
class Settings:
    """What a running server is told.

    `database` is the file of the meet. `pace` is how many times faster than real the server's clock
    runs: 1 except in a demo.
    """

    database: Path
    host: str = HOST
    port: int = PORT
    pace: int = 1
