"""Observations acknowledged once they are durable, against a bare echo of the same size.

Run `python -m tests.benchmarks.observing`. It prints two ratios: throughput of 200 tablets that
send as fast as they are answered (aim at least 0.6), and the time that 99 of 100 observations keep
within at a steady 200 a second (aim at most 3 times the echo's).
"""

import http.client
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from subprocess import PIPE, Popen
from tempfile import TemporaryDirectory
from time import time_ns
from typing import Any, Final
from urllib.parse import urlsplit

from scoring import Entry, EntryId, Mark, Outcome, RuleId, encode
from tests.benchmarks import clients
from tests.benchmarks.meet import POST, first_step, judge, make_meet, run_id

CLIENTS: Final = 200
RUNS: Final = 50
SECONDS: Final = float(os.environ.get("BENCH_SECONDS", "6"))
RATE: Final = 200
_RULE: Final = RuleId(first_step())
_COOKIES: Final = "BENCH_COOKIES"
_ROUNDS: Final = 3


def observation(client: int, n: int) -> object:
    """A tablet's n-th message: one mark."""
    entry = Entry(
        id=EntryId(f"{client:04}-{n:08}-{os.getpid()}"),
        run=run_id(client % RUNS),
        by=judge(client),
        post=POST,
        at=time_ns() // 1_000_000,
        off_by=4,
        what=Mark(_RULE, Outcome.GOOD),
    )
    return {"entries": [encode(entry)]}


def cookie(client: int) -> Mapping[str, str]:
    """What signs a tablet in."""
    return {"Cookie": json.loads(os.environ[_COOKIES])[judge(client)]}


def main() -> None:
    """Measure each in turn with its floor, and print the ratios of the medians."""
    with (
        TemporaryDirectory() as folder,
        _fairlead(Path(folder) / "bench.db") as ours,
        _floor() as floor,
    ):
        full = _pairs(lambda: _at_full_speed(ours), lambda: _echo(floor, None))
        steady = _pairs(lambda: _steady(ours), lambda: _echo(floor, RATE))
    speed = [one.per_second / two.per_second for one, two in full]
    tail = [one.p99 / two.p99 for one, two in steady]
    print(f"observations: {_median([one.per_second for one, _ in full]):.0f}/s durable and")
    print(f"  acknowledged, echo {_median([two.per_second for _, two in full]):.0f}/s:")
    print(f"  ratio {_median(speed):.2f} (aim at least 0.6)")
    print(f"tap to ack at {RATE}/s: p99 {_median([one.p99 for one, _ in steady]) * 1e3:.1f} ms,")
    print(f"  echo {_median([two.p99 for _, two in steady]) * 1e3:.1f} ms:")
    print(f"  ratio {_median(tail):.2f} (aim at most 3)")


def _pairs(
    ours: Callable[[], clients.Report], floor: Callable[[], clients.Report]
) -> list[tuple[clients.Report, clients.Report]]:
    """Ours and its floor in turn, so that a machine whose speed drifts hurts both."""
    return [(ours(), floor()) for _ in range(_ROUNDS)]


def _median(values: list[float]) -> float:
    return sorted(values)[len(values) // 2]


def _at_full_speed(port: int) -> clients.Report:
    return _observed(port, None)


def _steady(port: int) -> clients.Report:
    return _observed(port, RATE)


def _observed(port: int, rate: float | None) -> clients.Report:
    report = clients.run(
        clients.Load(
            port=port,
            clients=CLIENTS,
            seconds=SECONDS,
            rate=rate,
            event="observe",
            payload=observation,
            headers=cookie,
            expect='"seq"',
        )
    )
    assert not report.refused, "Some observations were refused."
    return report


def _echo(port: int, rate: float | None) -> clients.Report:
    load = clients.Load(port, CLIENTS, SECONDS, rate=rate, payload=observation)
    return clients.run(load)


@contextmanager
def _floor() -> Iterator[int]:
    with clients.launched("tests.benchmarks.floor") as (_, port):
        yield port


@contextmanager
def _fairlead(database: Path) -> Iterator[int]:
    """A server of ours on a new meet; its tablets' cookies are left to the clients."""
    make_meet(database, RUNS)
    line = [sys.executable, "-m", "web", "serve", str(database), "--port", "0", "--json"]
    with Popen(line, stdout=PIPE, text=True) as server:
        try:
            assert server.stdout is not None
            ready: dict[str, Any] = json.loads(server.stdout.readline())
            os.environ[_COOKIES] = json.dumps(
                {each["person"]: _signed_in(each) for each in ready["links"]}
            )
            yield urlsplit(ready["address"]).port or 0
        finally:
            server.terminate()


def _signed_in(link: Mapping[str, str]) -> str:
    parts = urlsplit(link["address"])
    connection = http.client.HTTPConnection(parts.netloc, timeout=10)
    connection.request("GET", parts.path)
    return (connection.getresponse().headers["Set-Cookie"] or "").partition(";")[0]


if __name__ == "__main__":
    main()
