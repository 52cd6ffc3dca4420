"""Fairlead's engine: a rulebook and a record give scorecards and standings, alone and always.

This is its front door. It has no clock, no chance, no files and no network: it is handed
everything, and gives values back.
"""

from scoring.clock import OfficialTime, Way
from scoring.codec import SHAPE, decode, encode, kind_of
from scoring.durations import format_duration, format_seconds, format_thousandths, parse_duration
from scoring.entries import (
    Addition,
    Breach,
    CloseOut,
    Count,
    Decision,
    Entry,
    Mark,
    Outcome,
    Ruling,
    Signal,
    SignalName,
    Status,
    StatusRuling,
    TimeBack,
    WatchReading,
    What,
    Withdrawal,
)
from scoring.errors import (
    DurationError,
    EntryError,
    Problem,
    RulebookError,
    ScoringError,
    TableError,
)
from scoring.findings import RUN_LIMIT, WALKTHROUGH_LIMIT, Finding, State
from scoring.fold import Anomaly, Run, fold
from scoring.ids import (
    CategoryId,
    EntryId,
    FindingId,
    PersonId,
    PostId,
    RoleId,
    RuleId,
    RunId,
    TaskId,
    TeamId,
)
from scoring.kinds import KINDS
from scoring.kinds.base import Control, Doubt, Failure, Fault, Question, Rule
from scoring.rulebook import Rulebook, read_rulebook
from scoring.rulebook.model import Post
from scoring.scorecard import ENGINE, Scorecard, Split, Stage, score
from scoring.sheets import (
    Cell,
    CellKind,
    Column,
    Fact,
    Table,
    TeamSheet,
    standings_table,
    team_sheet,
)
from scoring.standings import Entrant, Standing, rank
from scoring.words import describe

__all__ = [
    "ENGINE",
    "KINDS",
    "RUN_LIMIT",
    "SHAPE",
    "WALKTHROUGH_LIMIT",
    "Addition",
    "Anomaly",
    "Breach",
    "CategoryId",
    "Cell",
    "CellKind",
    "CloseOut",
    "Column",
    "Control",
    "Count",
    "Decision",
    "Doubt",
    "DurationError",
    "Entrant",
    "Entry",
    "EntryError",
    "EntryId",
    "Fact",
    "Failure",
    "Fault",
    "Finding",
    "FindingId",
    "Mark",
    "OfficialTime",
    "Outcome",
    "PersonId",
    "Post",
    "PostId",
    "Problem",
    "Question",
    "RoleId",
    "Rule",
    "RuleId",
    "Rulebook",
    "RulebookError",
    "Ruling",
    "Run",
    "RunId",
    "Scorecard",
    "ScoringError",
    "Signal",
    "SignalName",
    "Split",
    "Stage",
    "Standing",
    "State",
    "Status",
    "StatusRuling",
    "Table",
    "TableError",
    "TaskId",
    "TeamId",
    "TeamSheet",
    "TimeBack",
    "WatchReading",
    "Way",
    "What",
    "Withdrawal",
    "decode",
    "describe",
    "encode",
    "fold",
    "format_duration",
    "format_seconds",
    "format_thousandths",
    "kind_of",
    "parse_duration",
    "rank",
    "read_rulebook",
    "score",
    "standings_table",
    "team_sheet",
]
