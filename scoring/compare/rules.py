"""What has changed about the rules: new and dropped ones, and each that stayed, field by field."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import fields
from difflib import SequenceMatcher
from typing import Any, Final

from marshmallow import fields as schema_fields

from scoring.compare.change import Change, Matter
from scoring.durations import format_thousandths, speak_duration
from scoring.fields import Amount, Duration
from scoring.ids import CategoryId, RuleId
from scoring.kinds.base import Control, Path, Rule
from scoring.penalties import Costs
from scoring.rulebook import Rulebook
from scoring.units import Quantity, say

#: From this share of common words, or of common letters, two texts say the same (0 to 100).
_ALIKE_WORDS: Final = 50
_ALIKE_LETTERS: Final = 60
#: Beyond so many letters only the words are held beside each other.
_LONG: Final = 200
_WORD: Final = re.compile(r"\w+")

#: The fields of a rule that are compared elsewhere, or that change no one's work.
_ELSEWHERE: Final = frozenset({"id", "text", "costs", "after", "kind", "schema"})
#: The fields that judges work by.
_JUDGING: Final = frozenset({"posts", "note", "window", "tolerance", "charged", "charge", "tries"})
#: How fields are said whose key alone does not say it.
_SAID: Final = {
    "posts": "is watched from",
    "by": "is for",
    "task": "belongs to task",
    "on": "is the limit of task",
    "before": "comes before",
    "during": "holds during",
    "since": "counts from",
    "until": "holds until",
    "when": "applies where",
    "each": "is for each of",
    "points": "is judged by",
    "times": "comes so many times:",
    "at_least": "needs at least",
    "at_most": "allows at most",
    "takes_time": "usually takes",
    "note": "has the note",
}


def compare_rules(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    """What has changed about the rules."""
    renamed = _renamed(old, new)
    for name, rule in new.rules.items():
        before = old.rules.get(renamed.get(name, name))
        if before is None:
            cost = f" It costs {new.categories[rule.costs]}." if rule.costed else ""
            yield Change(Matter.ADDED, name, f"New {rule.kind} '{name}': {_stop(rule.text)}{cost}")
            continue
        if name in renamed:
            says = f"'{before.id}' is now called '{name}': {_stop(rule.text)}"
            yield Change(Matter.WORDS, name, says)
        if before.kind != rule.kind:
            says = f"'{name}' was a {before.kind} and is now a {rule.kind}; give it a new id."
            yield Change(Matter.NEW_MEANING, name, says)
        else:
            yield from _rule(before, rule, old, new)
    for name, rule in old.rules.items():
        if name not in new.rules and name not in renamed.values():
            says = f"No longer a {rule.kind}: '{name}', {_stop(rule.text)}"
            yield Change(Matter.DROPPED, name, says)


def priced(rule: Rule) -> Mapping[Path, CategoryId]:
    """What a rule costs, by the keys under which that is written."""
    costs: dict[Path, CategoryId] = {("costs",): rule.costs} if rule.costed else {}
    costs |= {path: CategoryId(str(name)) for path, name in rule.more_costs()}
    if isinstance(rule.after.costs, str):
        costs["after", "costs"] = rule.after.costs
    return costs


def _renamed(old: Rulebook, new: Rulebook) -> Mapping[RuleId, RuleId]:
    """New ids of rules that say, as nothing else does, what a dropped rule said."""
    gone = {rule.id: rule for rule in old.rules.values() if rule.id not in new.rules}
    come = [rule for rule in new.rules.values() if rule.id not in old.rules]
    often = Counter((rule.kind, rule.text) for rule in (*gone.values(), *come))
    said = {(rule.kind, rule.text): rule.id for rule in gone.values()}
    return {
        rule.id: said[rule.kind, rule.text]
        for rule in come
        if (rule.kind, rule.text) in said and often[rule.kind, rule.text] == 2  # noqa: PLR2004 - a pair
    }


def _stop(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _rule(before: Rule, after: Rule, old: Rulebook, new: Rulebook) -> Iterator[Change]:
    yield from _words(before, after, old)
    yield from _costs(before, after, old, new)
    was, now = before.after, after.after
    if (was.rules, was.at_once) != (now.rules, now.at_once):
        at_once = ", at once" if now.at_once else ""
        says = f"'{after.id}' now comes after {_say(now.rules)}{at_once} (was {_say(was.rules)})."
        yield Change(Matter.WORK, after.id, says)
    for each in fields(after):
        change = _field(each.name, before, after)
        if change is not None:
            yield change


def _words(before: Rule, after: Rule, old: Rulebook) -> Iterator[Change]:
    """A new wording, and whether it says something else."""
    name = after.id
    if before.text == after.text:
        return
    others = [r.id for r in old.rules.values() if r.text == after.text and r.id != before.id]
    if others or not _alike(before.text, after.text):
        which = f", as '{others[0]}' did" if others else ""
        says = f"'{name}' said “{before.text}” and now says “{after.text}”{which}"
        yield Change(
            Matter.NEW_MEANING, name, f"{says}; if that is another rule, give it a new id."
        )
    else:
        says = f"'{name}' is now worded “{after.text}” (was “{before.text}”)."
        yield Change(Matter.WORDS, name, says)


def _costs(before: Rule, after: Rule, old: Rulebook, new: Rulebook) -> Iterator[Change]:
    """What a rule costs now; where its category itself has changed, that is told once."""
    was, now = priced(before), priced(after)
    for path in dict.fromkeys((*was, *now)):
        one = str(old.categories[was[path]]) if path in was else "nothing of its own"
        two = str(new.categories[now[path]]) if path in now else "nothing of its own"
        in_place = " " in now.get(path, "") or " " in was.get(path, "")
        if one != two and (in_place or was.get(path) != now.get(path)):
            where = "" if path == ("costs",) else f", {' '.join(map(str, path))},"
            verb = "gives" if after.control is Control.ACHIEVE else "costs"
            says = f"'{after.id}'{where} now {verb} {two} (was {one})."
            yield Change(Matter.COST, after.id, says)


def _field(key: str, before: Rule, after: Rule) -> Change | None:
    """The change of one field of a rule, in words."""
    was, now = (getattr(rule, key) for rule in (before, after))
    if key == "when":
        was, now = (tuple(map(" is ".join, pairs)) for pairs in (was, now))
    field = after.schema().fields.get(key)
    if key in _ELSEWHERE or isinstance(field, Costs) or was == now:
        return None
    matter = Matter.JUDGING if key in _JUDGING else Matter.WORK
    written = field.data_key if field is not None and field.data_key else key
    said = _SAID.get(key, f"has '{written}'")
    says = f"'{after.id}' now {said} {_say(now, field)} (was {_say(was, field)})."
    return Change(matter, after.id, says)


def _say(value: Any, field: schema_fields.Field[Any] | None = None) -> str:
    """A field's value as people read it."""
    inner = field.inner if isinstance(field, schema_fields.List) else field
    if isinstance(value, tuple):
        return ", ".join(_say(each, inner) for each in value) or "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None or value == "":
        return "nothing"
    if isinstance(inner, Duration):
        value = speak_duration(value)
    elif isinstance(inner, Amount):
        value = format_thousandths(value)
    elif isinstance(value, Quantity):
        value = say(value.amount, value.unit.text if value.unit is not None else "")
    return str(value)


def _alike(one: str, two: str) -> bool:
    """Whether two texts may be two wordings of the same."""
    texts = one.casefold(), two.casefold()
    first, second = (Counter(_WORD.findall(text)) for text in texts)
    common = sum(len(word) * n for word, n in (first & second).items())
    least = min(sum(len(word) * n for word, n in each.items()) for each in (first, second))
    if common * 100 >= least * _ALIKE_WORDS:
        return True
    if max(map(len, texts)) > _LONG:
        return False
    return SequenceMatcher(None, *texts).ratio() * 100 >= _ALIKE_LETTERS
