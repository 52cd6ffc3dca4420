"""What happened on one run, as tables: findings, callouts, steps, returns, clock."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

from scoring.clock import Clock, Limit
from scoring.durations import format_duration
from scoring.entries import Addition, Decision, Entry, Mark, Outcome, Ruling, TimeBack
from scoring.findings import RUN_LIMIT, WALKTHROUGH_LIMIT, Finding, State
from scoring.fold import Run
from scoring.ids import EntryId, PersonId, RuleId
from scoring.kinds.base import Doubt, Failure, Fault, Rule
from scoring.rulebook import Rulebook
from scoring.scorecard import Scorecard
from scoring.sheets.cells import Cell, CellKind, Column, Table
from scoring.sheets.standings import cost_kind, has_bonuses, has_seconds
from scoring.words import describe

_RULED: Final = {
    Decision.UPHOLD: "upheld",
    Decision.STRIKE: "struck out",
    Decision.CHANGE: "changed",
}


_FINDINGS: Final = (
    Column("at", "Time into the run", CellKind.MOMENT),
    Column("task", "Task"),
    Column("rule", "Rule"),
    Column("text", "What the rule says"),
    Column("fault", "What was found"),
    Column("count", "Count", CellKind.COUNT),
    Column("cost", "Cost", CellKind.COST, total=True),
    Column("given", "Bonus", CellKind.COST, total=True),
    Column("seconds", "On the time", CellKind.COST, total=True),
    Column("how", "How that came about"),
    Column("seen", "Who saw it, from which post"),
    Column("state", "State"),
    Column("ruling", "Ruling"),
)
_ASKED: Final = (
    Column("by", "By"),
    Column("required", "Required", CellKind.COUNT, total=True),
)
_ANSWER: Final = (
    Column("answer", "Answer"),
    Column("at", "Time into the run", CellKind.MOMENT),
)
_CALLOUTS: Final = (
    Column("task", "Task"),
    Column("rule", "Rule"),
    Column("text", "Words"),
    Column("item", "Item"),
    *_ASKED,
    Column("good", "Heard", CellKind.COUNT, total=True),
    *_ANSWER,
)
_STEPS: Final = (
    Column("task", "Task"),
    Column("rule", "Rule"),
    Column("text", "Step"),
    Column("item", "Item"),
    *_ASKED,
    Column("good", "Done", CellKind.COUNT, total=True),
    *_ANSWER,
)
_RETURNS: Final = (
    Column("rule", "Rule"),
    Column("text", "What belongs back"),
    Column("missing", "Missing", CellKind.COUNT, total=True),
    Column("seen", "Who counted, from which post"),
)
_CLOCK: Final = (
    Column("what", "What"),
    Column("at", "Time into the run", CellKind.MOMENT),
    Column("time", "Time given back", CellKind.TIME, total=True),
    Column("reason", "Reason"),
    Column("by", "By"),
)
_OPEN: Final = (
    Column("rule", "Rule"),
    Column("text", "What the rule says"),
    Column("item", "Item"),
    Column("answer", "Answer"),
)


class RunTables:
    """The tables of one scorecard."""

    def __init__(self, card: Scorecard, book: Rulebook, people: Mapping[PersonId, str]) -> None:
        self._card, self._book, self._people = card, book, people
        self._run: Run = card.run
        self._entries: dict[EntryId, Entry] = {entry.id: entry for entry in card.run.entries}

        self._struck = {
            (finding.failure.rule, finding.failure.item)
            for finding in card.findings
            if finding.state is State.STRUCK_OUT
        }

    def findings(self) -> Table:
        """Every finding, those that cost nothing too."""
        table = Table(
            "findings",
            "Findings",
            tuple(_in_unit(column, self._book) for column in _FINDINGS),
            tuple(self._finding(finding) for finding in self._card.findings),
            "Struck-out and proposed findings are shown and cost nothing."
            if self._card.findings
            else "Nothing was found on this run.",
        )
        if not has_seconds(self._book):
            table = table.without("seconds")
        return table if has_bonuses(self._book) else table.without("given")

    def _finding(self, finding: Finding) -> tuple[Cell, ...]:
        failure = finding.failure
        rule = self._book.rules.get(failure.rule)
        # What costs nothing at all is in no other unit.
        on_time = finding.category.unit is not self._book.unit and finding.cost
        return (
            # A ruling's own time says nothing about when it happened.
            self._into(failure.at) if failure.fault is not Fault.ADDED else None,
            _task(rule),
            failure.rule,
            rule.text if rule is not None else _limit_says(failure.rule, self._book.clock),
            _fault(failure, rule, self._book.clock.step),
            failure.count,
            None if failure.bonus or on_time else finding.cost,
            -finding.cost if failure.bonus and not on_time else None,
            finding.cost if on_time else None,
            _how(finding),
            self._seen(failure.stands_on, failure.doubts),
            "; ".join((finding.state, *finding.doubts)),
            self._ruling(finding),
        )

    def callouts(self) -> Table:
        """What had to be said, item by item, and what was heard."""
        rows = self._asked("callout")
        return Table("callouts", "Callouts", _CALLOUTS, rows, "What had to be said, and was heard.")

    def steps(self) -> Table:
        """What had to be done, item by item, and what was seen."""
        rows = self._asked("step")
        return Table("steps", "Steps", _STEPS, rows, "What had to be done, and what judges saw.")

    def _asked(self, kind: str) -> tuple[tuple[Cell, ...], ...]:
        return tuple(
            self._item(rule, item)
            for rule in self._book.rules.values()
            if rule.kind == kind
            for item in rule.items
        )

    def _item(self, rule: Rule, item: str) -> tuple[Cell, ...]:
        verdict = rule.verdict(self._run, item, self._book.categories[rule.costs].seen_by)
        said = [rule.answers[verdict.outcome] if verdict.outcome is not None else "not marked"]
        said += verdict.doubts
        if (rule.id, item) in self._struck:
            said.append("struck out by the head judge")
        return (
            _task(rule),
            rule.id,
            rule.text,
            item,
            ", ".join(rule.by),
            1,
            1 if verdict.outcome is Outcome.GOOD else 0,
            "; ".join(said),
            self._into(verdict.at),
        )

    def returns(self) -> Table:
        """What was counted as missing."""
        failures = {finding.failure.rule: finding.failure for finding in self._card.findings}
        rows = tuple(
            (
                rule.id,
                rule.text,
                failures[rule.id].count if rule.id in failures else 0 if counts else None,
                self._seen(tuple(entry.id for entry in counts), ()) if counts else "not counted",
            )
            for rule in self._book.rules.values()
            if rule.kind == "returns"
            for counts in [self._run.seen.get(rule.id, ())]
        )
        return Table("returns", "Returns", _RETURNS, rows, "What was not back where it belongs.")

    def clock(self) -> Table:
        """Holds and time given back, which the official time has already taken off."""
        held = [
            ("hold", self._into(hold.begin), hold.end - hold.begin, hold.reason, "")
            for hold in self._run.holds
            if hold.end is not None
        ]
        given = [
            ("head judge", None, entry.what.time, entry.what.reason, self._name(entry.by))
            for entry in self._run.times_back
            if isinstance(entry.what, TimeBack)
        ]
        return Table(
            "clock",
            "Clock",
            _CLOCK,
            (*held, *given),
            "The official time has this taken off already.",
        )

    def open_questions(self) -> Table:
        """What the posts could not see or have not answered."""
        rows = tuple(
            (
                question.rule,
                self._text(question.rule),
                question.item,
                "not seen" if question.unseen else "not answered",
            )
            for question in self._card.questions
        )
        return Table("open", "Not seen", _OPEN, rows, "What no judge could say.")

    def _text(self, rule: RuleId) -> str:
        """What a rule says; what was to be drawn for the run is no rule."""
        known = self._book.rules.get(rule)
        return known.text if known is not None else "To be drawn for the run."

    def _into(self, at: int | None) -> int | None:
        return self._run.into(at) if at is not None else None

    def _name(self, person: PersonId) -> str:
        return self._people.get(person, person)

    def _seen(self, entries: tuple[EntryId, ...], doubts: tuple[Doubt, ...]) -> str:
        """Who signed the entries, from which post; what each said where they disagree."""
        lines: dict[str, None] = {}
        for entry in self._known(entries):
            line = self._name(entry.by)
            if entry.post is not None:
                post = self._book.posts.get(entry.post)
                line += f", {post.title if post is not None else entry.post}"
            if Doubt.CONTESTED in doubts:
                line += f": {self._said(entry)}"
            lines[line] = None
        return "\n".join(lines)

    def _known(self, entries: Iterable[EntryId]) -> list[Entry]:
        return [self._entries[each] for each in entries if each in self._entries]

    def _said(self, entry: Entry) -> str:
        if isinstance(entry.what, Mark):
            rule = self._book.rules[entry.what.rule]
            return rule.answers.get(entry.what.outcome, entry.what.outcome)
        return describe(entry.what)

    def _ruling(self, finding: Finding) -> str:
        """What the head judge decided, with name and reason; nothing where there is no ruling."""
        said = [
            f"added by {self._name(entry.by)}: {entry.what.reason}"
            for entry in self._known(finding.failure.stands_on)
            if isinstance(entry.what, Addition)
        ]
        ruled = finding.ruling.what if finding.ruling is not None else None
        if finding.ruling is not None and isinstance(ruled, Ruling):
            word = _RULED[ruled.decision]
            said.append(f"{word} by {self._name(finding.ruling.by)}: {ruled.reason}")
        return "\n".join(said)


def _task(rule: Rule | None) -> str:
    return rule.task or "" if rule is not None else ""


def _limit_says(rule: RuleId, clock: Clock) -> str:
    """What a limit of the clock says, in words."""
    limits: dict[RuleId, tuple[str, Limit | None]] = {
        RUN_LIMIT: ("run", clock.limit),
        WALKTHROUGH_LIMIT: ("walkthrough", clock.walkthrough),
    }
    name, limit = limits.get(rule, ("", None))
    return (
        f"The {name} may take {format_duration(limit.time, 1_000)}." if limit is not None else rule
    )


def _how(finding: Finding) -> str:
    """The category and how the cost came about; a category written in place has no name."""
    category = finding.category
    name = category.title or ("" if " " in category.id else category.id)
    return f"{name}: {finding.how}" if name else finding.how


def _fault(failure: Failure, rule: Rule | None, step: int) -> str:
    """What went wrong in words, with the item and by how much; times as fine as `step`."""
    said = str(failure.fault)
    if failure.fault is Fault.OUT_OF_ORDER and not failure.detail:
        said += f": begun before {failure.item} was finished"
    elif failure.item:
        numbered = rule is not None and rule.items != ("",) and failure.item[0].isdigit()
        said += f": number {failure.item}" if numbered else f": {failure.item}"
    if failure.margin is not None:
        said += f", by {format_duration(failure.margin, step)}"
    return f"{said}: {failure.detail}" if failure.detail else said


def _in_unit(column: Column, book: Rulebook) -> Column:
    """A column of costs in the unit of the result."""
    return replace(column, kind=cost_kind(book)) if column.key in {"cost", "given"} else column
