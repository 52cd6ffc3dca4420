"""Typed names, so that a rule's id is never handed in where a run's is wanted."""

import re
from typing import Final, NewType

RuleId = NewType("RuleId", str)
TaskId = NewType("TaskId", str)
PostId = NewType("PostId", str)
RoleId = NewType("RoleId", str)
CategoryId = NewType("CategoryId", str)
RunId = NewType("RunId", str)
TeamId = NewType("TeamId", str)
PersonId = NewType("PersonId", str)
EntryId = NewType("EntryId", str)
FindingId = NewType("FindingId", str)

#: What an author may write as the id of a rule, post, role, category or task.
NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")
NAME_SAYS: Final = "letters, digits, '.', '_' and '-', at most 40, beginning with a letter or digit"
