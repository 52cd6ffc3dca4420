from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from tests.storage.meet import MEET, posting
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog
from web.values import Posting


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a test's database lies; the name must be no trouble."""
    return tmp_path / "a meet, 100% ours.sqlite3"


@pytest.fixture
def engine(path: Path) -> Iterator[Engine]:
    """A new database."""
    engine = open_database(path)
    yield engine
    engine.dispose()


@pytest.fixture
def sql_log(engine: Engine) -> Iterator[SqlLog]:
    """An empty record in a new database."""
    log = SqlLog(engine)
    yield log
    log.close()


@pytest.fixture
def directory(engine: Engine) -> Directory:
    """A directory with a small meet."""
    directory = Directory(engine)
    directory.add(*MEET)
    return directory


@pytest.fixture
def posted(directory: Directory) -> Posting:
    """The meet's first posting."""
    return directory.add_posting(**posting())
