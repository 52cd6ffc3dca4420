"""The small meet, on a database of its own."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from tests.web.meet import Meet, open_meet
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog
from web.storage.memory import MemoryLog


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The meet as it is before the day, with the noise on it; copied, not opened."""
    path = tmp_path_factory.mktemp("meet") / "meet.db"
    engine = open_database(path)
    open_meet(Directory(engine))
    Directory(engine).secret()
    log = SqlLog(engine)
    Meet(Directory(engine), log).make_noise()
    log.close()
    engine.dispose()
    return path


@pytest.fixture
def database(template: Path, tmp_path: Path) -> Path:
    """The meet's database."""
    return Path(shutil.copy(template, tmp_path))


@pytest.fixture
def engine(database: Path) -> Iterator[Engine]:
    """The same, open."""
    engine = open_database(database)
    yield engine
    engine.dispose()


@pytest.fixture
def log(engine: Engine) -> Iterator[SqlLog]:
    """Its record."""
    log = SqlLog(engine)
    yield log
    log.close()


@pytest.fixture
def meet(engine: Engine, log: SqlLog) -> Meet:
    """The meet on its database."""
    return Meet(Directory(engine), log)


@pytest.fixture(scope="session")
def standing_directory(
    template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Directory]:
    """A directory for tests that make many records and change nothing else."""
    path = tmp_path_factory.mktemp("standing") / "meet.db"
    shutil.copy(template, path)
    engine = open_database(path)
    yield Directory(engine)
    engine.dispose()


@pytest.fixture
def light(standing_directory: Directory) -> Meet:
    """The meet with an empty record in memory; it posts nothing."""
    return Meet(standing_directory, MemoryLog())
