"""What every kind of rule is: its common fields, what it asks of a judge, how it fails.

A kind is one file beside this one. It holds the frozen rule, the schema that reads it, what the
post screen offers for it, and how marks become failures. `scoring.kinds` lists them.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, ClassVar, Final, Self, TypeAlias

from marshmallow import post_load

from scoring.dates import DateForm, parse_date
from scoring.entries import Entry, Mark, Observation, Outcome, Status
from scoring.errors import UnitError
from scoring.fields import Duration, Name, Pairs, Several, Text, Written, YesNo
from scoring.fold import Run
from scoring.ids import CategoryId, EntryId, FindingId, PersonId, PostId, RoleId, RuleId, TaskId
from scoring.penalties import Category, Costs, SeenBy
from scoring.units import parse_unit, read_written

#: Until the task has had its say.
_UNSAID: Final = CategoryId("")

#: It was done, well or not.
_DONE: Final = frozenset({Outcome.GOOD, Outcome.WRONG})

#: A category as an author gives it: by its name, or written in place.
Priced: TypeAlias = CategoryId | Category
#: Keys from a rule down to what is meant.
Path: TypeAlias = tuple[str | int, ...]


class Fault(StrEnum):
    """What is wrong, in the words a crew reads."""

    NOT_DONE = "not done"
    DONE_WRONGLY = "done wrongly"
    NOT_HEARD = "not heard"
    WRONG_WORDS = "wrong words"
    BREACH = "breach"
    NOT_RETURNED = "not returned"
    OUT_OF_ORDER = "out of order"
    OVER_LIMIT = "over the limit"
    TOO_FEW = "too few people"
    TOO_SHORT = "too short"
    TOO_LONG = "too long"
    OUT_OF_PLACE = "out of place"
    OUT_OF_TOLERANCE = "out of tolerance"
    WRONG_VALUE = "wrong value"
    NOT_WRITTEN = "not written"
    ILLEGIBLE = "illegible"
    NOT_CORRECTED = "not corrected"
    CORRECTED = "corrected when told"
    JUDGE_DID = "put right by the judge"
    FALSE_START = "false start"
    RUN_ENDER = "ends the run"
    EARNED = "earned"
    ADDED = "added by the head judge"


class Doubt(StrEnum):
    """Why a person should look at a finding."""

    UNCORROBORATED = "seen by one of several judges"
    CONTESTED = "judges disagree"
    MOVED = "changed since it was ruled on"
    UNSEEN = "nobody saw it"
    OUTSIDE = "marked when the rule did not hold"
    CLOSE = "close to the limit"


class Control(StrEnum):
    """How the post screen takes a rule."""

    MARK = "mark"
    TALLY = "tally"
    BREACH = "breach"
    COUNT = "count"
    CHECKLIST = "checklist"
    HOLD = "hold"
    MEASURE = "measure"
    VALUE = "value"
    CORRECT = "correct"
    ACHIEVE = "achieve"
    CLOCK = "clock"
    COMPUTED = "computed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """One thing that went wrong, before anyone has said what it costs.

    `id` is made of the rule and the item, or of the earliest entry that tells of it: it changes
    only where an earlier one arrives late or that one is withdrawn, never with the order of
    arrival. `at` is on the server's clock. `margin` is by how many milliseconds, for a fault of
    time.
    """

    id: FindingId
    rule: RuleId
    fault: Fault
    costs: CategoryId
    item: str = ""
    count: int = 1
    at: int | None = None
    margin: int | None = None
    stands_on: tuple[EntryId, ...] = ()
    proposed: bool = False
    doubts: tuple[Doubt, ...] = ()
    #: It is a bonus: what it costs is given.
    bonus: bool = False
    #: How it ends the run, once it counts.
    ends: Status | None = None
    #: What exactly was found, and how far that is from what was wanted.
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """Something a post has not answered: a rule, or one item of it.

    `unseen` is True when every post that watches has said, or by closing out left it at, "not
    seen", so that nobody but the head judge can answer.
    """

    rule: RuleId
    item: str = ""
    unseen: bool = False


@dataclass(frozen=True, slots=True)
class Order:
    """What must come before a rule, and what it costs when it does not.

    `costs` None: the rulebook's own. `at_once`: counts without being confirmed.
    """

    rules: tuple[RuleId, ...] = ()
    costs: CategoryId | Category | None = None
    at_once: bool = False


@dataclass(frozen=True, slots=True)
class GivenValue:
    """What is drawn for each run, or known of its bay.

    One of `choices`, a number in `unit`, or a date in the form `date`.
    """

    choices: tuple[str, ...] = ()
    unit: str = ""
    date: DateForm | None = None

    def takes(self, text: str) -> bool:
        """Whether a text is such a value, and only one."""
        if self.unit:
            try:
                return len(read_written(text, parse_unit(self.unit))) == 1
            except UnitError:
                return False
        if self.date is not None:
            return parse_date(text, self.date) is not None
        return text in self.choices


@dataclass(frozen=True, slots=True)
class Terms:
    """What a rule may ask of the rulebook it stands in."""

    rules: Mapping[RuleId, "Rule"]
    categories: Mapping[CategoryId, Category]
    #: How far two taps may be apart and still be taken for the same moment, in milliseconds.
    tolerance: int
    order_costs: CategoryId | None
    #: The rules of each task, in order.
    tasks: Mapping[TaskId, tuple[RuleId, ...]] = field(default_factory=dict)
    #: Whether what nobody saw counts against the crew.
    unseen_fails: bool = False
    givens: Mapping[str, GivenValue] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the judges together say of one item, and whom that stands on.

    `outcome` is None where no judge has said anything. `counts` is False where a failure was seen
    by fewer judges than its category asks for.
    """

    outcome: Outcome | None
    entries: tuple[Entry, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    counts: bool = True

    @property
    def fails(self) -> bool:
        """Whether any judge's word is that the item failed."""
        return self.outcome in {Outcome.WRONG, Outcome.MISSING}

    @property
    def at(self) -> int | None:
        """When the first judge marked it at the moment it happened."""
        return next((entry.at for entry in self.entries if _timed(entry)), None)

    @property
    def ids(self) -> tuple[EntryId, ...]:
        """The entries that the verdict stands on."""
        return tuple(entry.id for entry in self.entries)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of a rulebook. Kinds add their own fields and say how they are watched and fail."""

    kind: ClassVar[str]
    schema: ClassVar[type["RuleSchema"]]
    #: What the answers are called for this kind, in the order the screen shows them.
    answers: ClassVar[Mapping[Outcome, str]] = {}

    id: RuleId
    text: str = ""
    posts: tuple[PostId, ...] = ()
    costs: CategoryId = _UNSAID
    task: TaskId | None = None
    by: tuple[RoleId, ...] = ()
    after: Order = Order()
    #: The tasks during which it holds; none means it is not tied to a task.
    during: tuple[TaskId, ...] = ()
    #: The givens, and the value each must have in a run for the rule to apply to it.
    when: tuple[tuple[str, str], ...] = ()
    #: How long its work usually takes, in milliseconds; 0 where the author does not say.
    takes_time: int = 0
    note: str = ""

    @property
    def control(self) -> Control:
        """How the post screen takes this rule."""
        return Control.MARK

    @property
    def costed(self) -> bool:
        """Whether the author must say what it costs."""
        return True

    @property
    def items(self) -> tuple[str, ...]:
        """The items judged one by one; one empty name where the rule is judged as a whole."""
        return ("",)

    @property
    def asked(self) -> bool:
        """Whether a post must answer this rule before the run can be closed out."""
        return True

    def named_givens(self) -> Iterator[tuple[str, str]]:
        """The givens it is held against: the key each is written under, and its name."""
        yield from ()

    @property
    def reads_givens(self) -> tuple[str, ...]:
        """The givens whose values it is held against."""
        return tuple(name for _, name in self.named_givens())

    def applies(self, run: Run) -> bool:
        """Whether the rule holds in a run, by what was drawn for it."""
        return all(run.givens.get(name) == value for name, value in self.when)

    def says(self, terms: Terms) -> Iterator[str]:  # noqa: ARG002 - most say no more
        """What else a person must know of it, in sentences."""
        yield from ()

    def lets_go(self, run: Run) -> TaskId | None:  # noqa: ARG002 - most let none go
        """The task of which nothing more is asked, by what was said of this rule."""
        return None

    def holds(self) -> str:
        """When a rule of conduct holds, in words; nothing for what is done at its own place."""
        return ""

    def shown(self) -> Mapping[str, Any]:
        """What a judge's screen needs of this kind beside what every rule has, as plain values."""
        return {}

    def takes(self, said: Observation) -> bool:
        """Whether this is an observation that a judge makes of such a rule."""
        return isinstance(said, Mark) and said.item in self.items

    def references(self) -> Iterator[tuple[str, RuleId]]:
        """The other rules this one names: the key it is written under, and the id."""
        for rule in self.after.rules:
            yield "after", rule

    def problems(self, terms: Terms) -> Iterator[tuple[Path, str]]:  # noqa: ARG002 - most have none
        """What makes no sense beside the rest of the rulebook: the keys, and a sentence.

        Every reference is known to lead somewhere.
        """
        yield from ()

    def more_costs(self) -> tuple[tuple[Path, Priced], ...]:
        """What else costs something: the keys it is written under, and the category."""
        return ()

    def priced(self, costs: Sequence[CategoryId]) -> Self:  # noqa: ARG002 - none, where none is named
        """The rule with the categories of `more_costs` by name, in the same order."""
        return self

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """What went wrong with this rule in a run."""
        raise NotImplementedError

    def added(self, entry: Entry, count: int) -> Failure:
        """What the head judge adds of this rule with an entry."""
        return Failure(
            id=failure_id(self.id, entry.id, why="added"),
            rule=self.id,
            fault=Fault.ADDED,
            costs=self.costs,
            count=count,
            at=entry.at,
            stands_on=(entry.id,),
        )

    def questions(self, run: Run) -> Iterator[Question]:
        """What the posts that watch this rule have left unanswered."""
        if not self.asked:
            return
        for item in self.items:
            verdict = self.verdict(run, item, SeenBy.ANY)
            if verdict.outcome in {None, Outcome.UNSEEN}:
                done = run.closed | {entry.post for entry in verdict.entries}
                yield Question(self.id, item, unseen=bool(self.posts) and done >= {*self.posts})

    def verdict(self, run: Run, item: str, seen_by: SeenBy) -> Verdict:
        """What the judges together say of one item.

        Each judge's latest mark is their word. "Not seen" is no word. The category says how many
        of the judges who watch must have seen a failure; each post has one, or more who speak.
        """
        words = self._words(run, item)
        said = [entry for entry in words if _outcome(entry) is not Outcome.UNSEEN]
        if not said:
            return Verdict(Outcome.UNSEEN if words else None, tuple(words))
        failing = [entry for entry in said if _outcome(entry) is not Outcome.GOOD]
        if not failing:
            return Verdict(Outcome.GOOD, tuple(said))
        doubts = [Doubt.CONTESTED] if len(failing) < len(said) else []
        if len(failing) == 1 and len(self.posts) > 1:
            doubts.append(Doubt.UNCORROBORATED)
        counts = enough(len(failing), max(len(said), len(self.posts)), seen_by)
        return Verdict(_outcome(failing[0]), tuple(said), tuple(doubts), counts)

    def _words(self, run: Run, item: str) -> list[Entry]:
        """Each judge's word on an item, in order of time."""
        return latest(run.seen.get(self.id, ()), item)

    def begun(self, run: Run) -> Entry | None:
        """The mark that the first of this rule's items was done."""
        return min((words[0] for words in self.done(run) if words), key=_when, default=None)

    def ended(self, run: Run) -> Entry | None:
        """The mark that the last item was done, once all are."""
        done = self.done(run)
        return max((words[0] for words in done), key=_when) if done and all(done) else None

    def moments(self, run: Run) -> list[int]:
        """When each of its items was done, as far as that was marked as it happened."""
        return [words[0].at for words in self.done(run) if words]

    def done(self, run: Run) -> list[list[Entry]]:
        """For each item the marks that it was done, made as it happened, in order of time.

        A judge who says otherwise in the end has taken the earlier mark back with it.
        """
        marks: dict[str | None, list[Entry]] = {}
        for entry in run.seen.get(self.id, ()):
            if entry.at >= run.restarted:
                marks.setdefault(_item(entry), []).append(entry)
        return [_doing(marks.get(item, ()), item) for item in self.items]


def enough(saw: int, watched: int, seen_by: SeenBy) -> bool:
    """Whether a failure counts that `saw` of `watched` judges saw."""
    match seen_by:
        case SeenBy.ANY:
            return saw > 0
        case SeenBy.MAJORITY:
            return 2 * saw > watched
        case SeenBy.ALL:
            return saw == watched


def _doing(marks: Sequence[Entry], item: str) -> list[Entry]:
    """Of the marks on an item, the timed ones that it was done, by judges who stand by that."""
    done = {entry.by for entry in latest(marks, item) if _outcome(entry) in _DONE}
    return [
        entry for entry in marks if _timed(entry) and _outcome(entry) in _DONE and entry.by in done
    ]


def latest(entries: Sequence[Entry], item: str) -> list[Entry]:
    """Each judge's latest mark on an item, in order of time."""
    words: dict[PersonId, Entry] = {}
    for entry in entries:
        if isinstance(entry.what, Mark) and entry.what.item == item:
            words.pop(entry.by, None)
            words[entry.by] = entry
    return list(words.values())


def or_of_the_whole(entries: Sequence[Entry], item: str) -> list[Entry]:
    """Each judge's word on an item: their own mark of it, else what they said of the whole."""
    own = latest(entries, item)
    spoken = {entry.by for entry in own}
    whole = [entry for entry in latest(entries, "") if entry.by not in spoken]
    return sorted((*own, *whole), key=lambda entry: entry.when)


def _outcome(entry: Entry) -> Outcome | None:
    return entry.what.outcome if isinstance(entry.what, Mark) else None


def _item(entry: Entry) -> str | None:
    return entry.what.item if isinstance(entry.what, Mark) else None


def _timed(entry: Entry) -> bool:
    return isinstance(entry.what, Mark) and entry.what.timed


def _when(entry: Entry) -> tuple[int, str]:
    return entry.when


def failure_id(rule: RuleId, part: str = "", *, why: str = "") -> FindingId:
    """The lasting name of a failure: the rule, or the rule and what of it failed.

    `why` sets apart what is not the rule's own failure. No id has a space, so nothing clashes.
    """
    name = f"{rule} {why}" if why else rule
    return FindingId(f"{name}/{part}" if part else name)


class RuleOrderSchema(Written):
    """What must come before a rule, with what disorder costs."""

    rules = Several(Name(), required=True, distinct=True)
    costs = Costs()
    at_once = YesNo(data_key="at-once")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Order:
        return Order(**data)


class After(Several):
    """What must come before: ids, or a mapping that also says what disorder costs."""

    order: ClassVar[type[Written]] = RuleOrderSchema

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, dict):
            return self.order().load(value)
        return Order(rules=super()._deserialize(value, attr, data, **kwargs))


class RuleSchema(Written):
    """The keys that every kind of rule has, beside the key of its kind, which holds its id."""

    makes: ClassVar[type[Rule]]

    posts = Several(Name(), distinct=True, data_key="post")
    costs = Costs()
    by = Several(Name(), distinct=True)
    after = After(Name(), distinct=True)
    when = Pairs()
    takes_time = Duration(data_key="takes")
    note = Text()

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Rule:
        return self.makes(**data)


#: The keys of `RuleSchema`, which the reference explains once for all kinds.
COMMON: Final = ("post", "costs", "by", "after", "when", "takes", "note")
