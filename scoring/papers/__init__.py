"""A rulebook on paper: the briefing, the judges' sheets, the check sheet, the clock sheet."""

from scoring.papers.briefing import Briefing, Item, Part, briefing
from scoring.papers.lines import Block, Line, Takes
from scoring.papers.sheets import (
    CheckLine,
    CheckSheet,
    ClockSheet,
    JudgeSheet,
    Section,
    check_sheet,
    clock_sheet,
    judge_sheet,
)

__all__ = [
    "Block",
    "Briefing",
    "CheckLine",
    "CheckSheet",
    "ClockSheet",
    "Item",
    "JudgeSheet",
    "Line",
    "Part",
    "Section",
    "Takes",
    "briefing",
    "check_sheet",
    "clock_sheet",
    "judge_sheet",
]
