"""What other processes do: die in the middle, or write to the same file at the same time."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import Engine

from tests.house.tree import ROOT
from web.storage.log import SqlLog

#: Appends from many greenlets without end, and says on a line what was answered.
LOADED = """
import sys
from pathlib import Path
import gevent
from tests.storage.entries import mark
from web.storage.database import open_database
from web.storage.log import SqlLog
from web.storage.writer import GroupWriter

writer = GroupWriter(SqlLog(open_database(Path(sys.argv[1]))), lambda: 100)

def client(number):
    for turn in range(number * 100_000, (number + 1) * 100_000):
        for stored in writer.append([mark(turn)]):
            print(stored.seq, stored.entry.id, flush=True)

gevent.joinall([gevent.spawn(client, number) for number in range(20)])
"""
#: Appends so many batches of four, one commit each, as fast as it may.
STEADY = """
import sys
from pathlib import Path
from tests.storage.entries import marks
from web.storage.database import open_database
from web.storage.log import SqlLog

log = SqlLog(open_database(Path(sys.argv[1])))
first = int(sys.argv[2])
for start in range(first, first + 400, 4):
    log.append(marks(start, start + 3), 100)
log.append(marks(7_000_001, 7_000_050), 100)
"""
#: The whole of it under gevent's monkey patching, with native threads reading meanwhile.
PATCHED = """
import warnings
from gevent import monkey
monkey.patch_all()
warnings.simplefilter("error")
import sys
from pathlib import Path
import gevent
from gevent.threadpool import ThreadPool
from scoring import RunId
from tests.storage.entries import mark, marks
from tests.storage.meet import CLIFF
from web.errors import StorageError
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog
from web.storage.writer import GroupWriter

engine = open_database(Path(sys.argv[1]))
log, directory = SqlLog(engine), Directory(engine)
directory.add(CLIFF)
writer = GroupWriter(log, lambda: 100)
readers = ThreadPool(4)
going = True

def read():
    count = 0
    while going:
        log.since(max(0, log.head()[0] - 5))
        assert directory.events() == [CLIFF]
        count += 1
    return count

def client(number):
    for turn in range(10):
        (stored,) = writer.append([mark(number * 10 + turn)])
        assert log.since(stored.seq - 1)[0].entry == stored.entry
        gevent.sleep(0)

reading = [readers.spawn(read) for _ in range(4)]
gevent.joinall([gevent.spawn(client, number) for number in range(50)], raise_error=True)
going = False
assert all(each.get() for each in reading)
limited = log._connection()
with limited.begin():
    pages = limited.exec_driver_sql("PRAGMA page_count").scalar_one()
    limited.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
try:
    writer.append(marks(1000, 3000))
except StorageError:
    writer.append([mark(501)])
    print("got over a full disk")
writer.close()
log.close()
assert log.verify() is None
print("head", log.head()[0])
"""


def _start(code: str, *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


@pytest.mark.parametrize("lines", [1, 500, 3000])
def test_a_server_killed_in_the_middle_has_kept_all_it_answered(
    path: Path, engine: Engine, lines: int
) -> None:
    process = _start(LOADED, str(path))
    assert process.stdout
    answered = [process.stdout.readline() for _ in range(lines)]
    process.kill()
    rest, errors = process.communicate()
    assert process.returncode == -signal.SIGKILL, errors
    # A line may be cut by the kill; what is whole was answered.
    answered += [line for line in rest.splitlines(keepends=True) if line.endswith("\n")]
    log = SqlLog(engine)
    kept = {(stored.seq, stored.entry.id) for stored in log.since()}
    said = {(int(seq), name) for seq, name in (line.split() for line in answered)}
    assert len(said) >= lines
    assert said <= kept
    assert log.verify() is None


def test_two_processes_on_one_file_make_one_chain(path: Path, engine: Engine) -> None:
    both = [_start(STEADY, str(path), first) for first in ("1", "1001")]
    for process in both:
        _, errors = process.communicate()
        assert process.returncode == 0, errors
    log = SqlLog(engine)
    kept = log.since()
    assert [stored.seq for stored in kept] == list(range(1, 851))
    assert log.verify() is None


def test_it_works_under_monkey_patching_with_native_threads_about(path: Path) -> None:
    done = _start(PATCHED, str(path))
    said, errors = done.communicate()
    assert said.splitlines() == ["got over a full disk", "head 501"], errors
    assert done.returncode == 0, errors
