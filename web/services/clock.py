"""The server's clock: the time of day at its start, and from then on one nobody can set back."""

import time
from typing import Final

#: Goes on through a closed lid where the system has such a clock.
_STEADY: Final = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)


class ServerClock:
    """Milliseconds since 1970-01-01T00:00Z, never backwards; `pace` times faster in a demo."""

    def __init__(self, pace: int = 1) -> None:
        self._base = time.time_ns() // 1_000_000
        self._steady = time.clock_gettime_ns(_STEADY)
        self._pace = pace

    def __call__(self) -> int:
        """The time now."""
        return (
            self._base + (time.clock_gettime_ns(_STEADY) - self._steady) * self._pace // 1_000_000
        )
