"""Scorecards and standings → tables of typed cells, without formatting.

The penalty sheet's page and its workbook show these same cells. Times are whole
milliseconds and points whole thousandths; who shows them makes `35:07.4` or a spreadsheet's
duration of them.
"""

from scoring.sheets.cells import Cell, CellKind, Column, Fact, Table
from scoring.sheets.overall import overall_table
from scoring.sheets.standings import standings_table
from scoring.sheets.team import TeamSheet, team_sheet

__all__ = [
    "Cell",
    "CellKind",
    "Column",
    "Fact",
    "Table",
    "TeamSheet",
    "overall_table",
    "standings_table",
    "team_sheet",
]
