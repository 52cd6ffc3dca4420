"""What screens are shown: rulebooks, runs and scorecards as plain JSON. Times in milliseconds."""

from typing import Any

from scoring import (
    Entry,
    Finding,
    PersonId,
    Post,
    PostId,
    Rule,
    Rulebook,
    Ruling,
    Scorecard,
    WatchReading,
    describe,
    encode,
)
from web.services.runs import Runs
from web.values import RunPlan, Stored


def rulebook_view(book: Rulebook, post: PostId | None) -> dict[str, Any]:
    """What a screen needs of the rulebook; a judge's gets the rules of the post only."""
    rules = book.watched_by(post) if post is not None else tuple(book.rules.values())
    limit, walkthrough = book.clock.limit, book.clock.walkthrough
    return {
        "result": book.result,
        "posts": {each.id: _post(each) for each in book.posts.values()},
        "tasks": [{"id": task.id, "title": task.title} for task in book.tasks],
        "clock": {
            "limit": limit.time if limit is not None else None,
            "walkthrough": walkthrough.time if walkthrough is not None else None,
            "timed": book.timed,
            "watches": book.clock.watches,
            "step": book.clock.step,
            "ends": book.rules[book.clock.ends].text if book.clock.ends is not None else "",
        },
        "givens": {
            name: {"choices": list(each.choices), "unit": each.unit, "date": each.date}
            for name, each in book.givens.items()
        },
        "rules": [_rule(rule, book) for rule in rules],
    }


def run_view(runs: Runs, plan: RunPlan) -> dict[str, Any]:
    """One line of the list of runs."""
    card = runs.card(plan.id)
    run, team = card.run, runs.teams[plan.team]
    return {
        "id": plan.id,
        "team": team.id,
        "team_name": team.name,
        "division": team.division,
        "bay": plan.bay,
        "turn": plan.turn,
        "stage": card.stage,
        "started_at": run.start.at if run.start is not None else None,
        "stopped_at": run.stop.at if run.stop is not None else None,
        "holds": [
            {"begin": hold.begin, "end": hold.end, "reason": hold.reason} for hold in run.holds
        ],
        "walkthrough": (
            {"begin": run.walkthrough.begin, "end": run.walkthrough.end}
            if run.walkthrough is not None
            else None
        ),
        "givens": dict(run.givens),
    }


def stored_view(stored: Stored) -> dict[str, Any]:
    """One entry of a record with its number."""
    return {"seq": stored.seq, "entry": encode(stored.entry)}


def card_view(runs: Runs, plan: RunPlan) -> dict[str, Any]:
    """A scorecard with everything it stands on, for the head judge."""
    card, book = runs.card(plan.id), runs.book(plan.event)
    return {
        "stage": card.stage,
        "status": card.status,
        "why": card.why,
        "official": official_view(card),
        "watches": {
            str(watch): entry.what.elapsed
            for watch, entry in card.run.watches.items()
            if isinstance(entry.what, WatchReading)
        },
        "unit": book.unit,
        "penalty": card.penalty,
        "bonus": card.bonus,
        "time_cost": card.time_cost,
        "outcome": card.assessed.outcome if card.assessed is not None else None,
        "assessed": assessed_view(runs, card),
        "total": card.total,
        "undecided": card.undecided,
        "questions": questions_view(card, None),
        "findings": [_finding(runs, card, book, finding) for finding in card.findings],
        "splits": [
            {
                "task": split.task,
                "title": next(task.title for task in book.tasks if task.id == split.task),
                "ended": split.ended,
                "took": split.took,
            }
            for split in card.splits
        ],
        "anomalies": [str(anomaly.oddity) for anomaly in card.anomalies],
        "orphans": [
            _entry(runs, card, runs_entry.entry)
            for each in card.orphans
            if (runs_entry := runs.entry(plan.id, each)) is not None
        ],
        "dangers": [_entry(runs, card, entry) for entry in card.run.dangers],
    }


def official_view(card: Scorecard) -> dict[str, Any] | None:
    """The official time and how it was made, once there is one."""
    official = card.official
    if official is None:
        return None
    return {
        "time": official.time,
        "way": official.way,
        "wanted": official.wanted,
        "readings": list(official.readings),
        "back": official.back,
    }


def assessed_view(runs: Runs, card: Scorecard) -> dict[str, Any] | None:
    """What an assessment has come to and who signed it, once it has come to something."""
    assessed = card.assessed
    if assessed is None:
        return None
    return {
        "outcome": assessed.outcome,
        "criteria": [
            {"name": each.name, "met": each.met, "rules": list(each.rules)}
            for each in assessed.criteria
        ],
        "again": list(assessed.again),
        "signed": [_entry(runs, card, entry) for entry in assessed.signed],
        "stale": [_entry(runs, card, entry) for entry in assessed.stale],
    }


def questions_view(card: Scorecard, rules: frozenset[str] | None) -> list[dict[str, Any]]:
    """What posts have left unanswered: of all rules, or of some."""
    return [
        {"rule": question.rule, "item": question.item, "unseen": question.unseen}
        for question in card.questions
        if rules is None or question.rule in rules
    ]


def _post(post: Post) -> dict[str, Any]:
    return {"title": post.title, "watches": post.watches}


def _rule(rule: Rule, book: Rulebook) -> dict[str, Any]:
    return {
        "id": rule.id,
        "kind": rule.kind,
        "control": rule.control,
        "text": rule.text,
        "items": list(rule.items),
        "answers": {str(outcome): label for outcome, label in rule.answers.items()},
        "by": [book.crew.roles[role] for role in rule.by],
        "task": rule.task,
        "after": list(rule.after.rules),
        "post": list(rule.posts),
        "during": list(rule.during),
        "when": [list(pair) for pair in rule.when],
        "holds": rule.holds(),
        "note": rule.note,
        # What a reading should be is kept from who copies what stands there.
        "says": [] if rule.kind == "reading" else list(rule.says(book.terms)),
        "more": dict(rule.shown()),
        "costs": str(book.categories[rule.costs]),
    }


def _finding(runs: Runs, card: Scorecard, book: Rulebook, finding: Finding) -> dict[str, Any]:
    failure, rule = finding.failure, book.rules.get(finding.failure.rule)
    at = card.run.into(failure.at) if failure.at is not None else None
    on_record = {entry.id: entry for entry in card.run.entries}
    return {
        "id": finding.id,
        "rule": failure.rule,
        "text": rule.text if rule is not None else failure.rule,
        "task": rule.task if rule is not None else None,
        "fault": failure.fault,
        "item": failure.item,
        "detail": failure.detail,
        "bonus": failure.bonus,
        "count": failure.count,
        "margin": failure.margin,
        "at": at,
        "category": finding.category.id,
        "cost": finding.cost,
        "unit": finding.category.unit,
        "how": finding.how,
        "state": finding.state,
        "disqualifies": finding.disqualifies,
        "ends": finding.ends,
        "doubts": list(finding.doubts),
        "stands_on": [
            _entry(runs, card, on_record[each]) for each in failure.stands_on if each in on_record
        ],
        "ruling": _ruling(runs, finding.ruling) if finding.ruling is not None else None,
    }


def _entry(runs: Runs, card: Scorecard, entry: Entry) -> dict[str, Any]:
    return {
        "id": entry.id,
        "by": entry.by,
        "by_name": _name(runs, entry.by),
        "post": entry.post,
        "at": entry.at,
        "into": card.run.into(entry.at),
        "says": describe(entry.what),
    }


def _ruling(runs: Runs, entry: Entry) -> dict[str, Any]:
    ruling = entry.what if isinstance(entry.what, Ruling) else None
    return {
        "id": entry.id,
        "decision": ruling.decision if ruling is not None else "add",
        "reason": getattr(entry.what, "reason", ""),
        "cost": ruling.cost if ruling is not None else None,
        "by_name": _name(runs, entry.by),
        "at": entry.at,
    }


def _name(runs: Runs, person: PersonId) -> str:
    known = runs.people.get(person)
    return known.name if known is not None else person
