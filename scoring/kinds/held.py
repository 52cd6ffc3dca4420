"""A held duration: an action that must last at least, or at most, so long."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from scoring.durations import speak_duration
from scoring.entries import Entry, Mark, Measured, Moment, Moved, Observation, Outcome
from scoring.fields import Duration, Name, Text, YesNo
from scoring.fold import Run
from scoring.ids import PersonId
from scoring.kinds.base import Control, Failure, Fault, Question, RuleSchema, Terms, failure_id
from scoring.kinds.measured import Word, judged
from scoring.kinds.repeated import Repeated, RepeatedSchema

#: A judge's two taps are this far out together, unless the rule says otherwise.
_TAPS: Final = 500
_FAULTS: Final = {Outcome.MISSING: Fault.NOT_DONE, Outcome.WRONG: Fault.DONE_WRONGLY}
_ANSWERS: Final = {
    Outcome.GOOD: "long enough",
    Outcome.WRONG: "done wrongly",
    Outcome.MISSING: "not done",
    Outcome.UNSEEN: "not seen",
}


class HeldSchema(RepeatedSchema):
    """A held duration as it is written."""

    id = Name(required=True, data_key="held")
    text = Text(required=True, data_key="do")
    at_least = Duration(data_key="at-least")
    at_most = Duration(data_key="at-most")
    tolerance = Duration()
    at_once = YesNo(data_key="at-once")

    @validates_schema(skip_on_field_errors=True)
    def _has_a_length(self, data: Mapping[str, Any], **_: Any) -> None:
        least, most = data.get("at_least", 0), data.get("at_most")
        if not least and most is None:
            raise ValidationError("Say how long: 'at-least', 'at-most' or both.")
        if most is not None and most < least:
            raise ValidationError("'at-most' is shorter than 'at-least'.", "at-most")


@dataclass(frozen=True, slots=True)
class _Length:
    """How long by one judge, how far that may be out, and the entries that say so."""

    lasted: int
    slack: int
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Held(Repeated):
    """Taken by two taps, or by the judge's count in seconds.

    A length by taps is out only by more than `tolerance`, and is proposed unless the author says
    `at-once`. A count is the judge's word and needs neither. Times in milliseconds.
    """

    kind: ClassVar[str] = "held"
    schema: ClassVar[type[RuleSchema]] = HeldSchema
    faults: ClassVar[Mapping[Outcome, Fault]] = _FAULTS
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS

    at_least: int = 0
    at_most: int | None = None
    tolerance: int = _TAPS
    at_once: bool = False

    @property
    def control(self) -> Control:
        """Tap and tap again."""
        return Control.HOLD

    def says(self, terms: Terms) -> Iterator[str]:
        """How long, and how exactly."""
        least, most = speak_duration(self.at_least), speak_duration(self.at_most or 0)
        limits = [f"at least {least}"] if self.at_least else []
        limits += [f"at most {most}"] if self.at_most is not None else []
        yield f"It lasts {' and '.join(limits)}."
        upheld = "" if self.at_once else ", and the head judge upholds that"
        yield (
            "Timed by two taps it costs only where it is out by more than "
            f"{speak_duration(self.tolerance)}{upheld}; a count is the judge's word."
        )
        yield from Repeated.says(self, terms)

    def shown(self) -> Mapping[str, Any]:
        """How long, in milliseconds."""
        return {"at_least": self.at_least, "at_most": self.at_most}

    def takes(self, said: Observation) -> bool:
        """The two taps, a count, or a mark."""
        if not isinstance(said, Moved | Measured | Mark) or said.item not in self.items:
            return False
        return not isinstance(said, Moved) or said.moment in {Moment.BEGIN, Moment.END}

    def questions(self, run: Run) -> Iterator[Question]:
        """The items without a length or a word."""
        for question in Repeated.questions(self, run):
            if not self._lengths(run, question.item):
                yield question

    def item_failures(
        self, run: Run, terms: Terms, item: str, *, unseen: bool
    ) -> Iterator[Failure]:
        """What was not done at all, or lasted too short or too long; a judge's answer before that.

        Each judge's latest word holds, be it an answer or a length.
        """
        lengths = self._lengths(run, item)
        if not lengths:
            yield from Repeated.item_failures(self, run, terms, item, unseen=unseen)
            return
        words = [self._long(length, terms) for length in lengths]
        for entry in self._words(run, item):
            if isinstance(entry.what, Mark) and entry.what.outcome is not Outcome.UNSEEN:
                fault = self.faults.get(entry.what.outcome)
                costs = self.cost_of(entry.what.outcome)
                words.append(Word((entry,), fault, costs) if fault else Word((entry,)))
        seen_by = terms.categories[self.costs].seen_by
        yield from judged(self, failure_id(self.id, item), item, words, seen_by)

    def begun(self, run: Run) -> Entry | None:
        """The tap that the first of its items began, or the mark that it was done."""
        taps = (length.entries[0] for item in self.items for length in self._lengths(run, item))
        begun = Repeated.begun(self, run)
        marks = (begun,) if begun is not None else ()
        return min((*taps, *marks), key=lambda entry: entry.when, default=None)

    def done(self, run: Run) -> list[list[Entry]]:
        """For each item when it had been held, or was marked as done."""
        return [
            sorted(
                (*marks, *(length.entries[-1] for length in self._lengths(run, item))),
                key=lambda entry: entry.when,
            )
            for item, marks in zip(self.items, Repeated.done(self, run), strict=True)
        ]

    def _long(self, length: _Length, terms: Terms) -> Word:
        """Whether a length is too short or too long, by how much, and what that costs."""
        early = self.at_least - length.lasted
        late = length.lasted - self.at_most if self.at_most is not None else 0
        out = max(early, late)
        if out <= length.slack:
            return Word(length.entries)
        return Word(
            length.entries,
            Fault.TOO_SHORT if early > length.slack else Fault.TOO_LONG,
            self.costs,
            count=terms.categories[self.costs].begun(out),
            margin=out,
            rank=out,
            sure=length.slack == 0 or self.at_once,
        )

    def _words(self, run: Run, item: str) -> list[Entry]:
        """The answers of judges who have not tapped or counted since."""
        later = {length.entries[-1].by: length for length in self._lengths(run, item)}
        return [
            entry
            for entry in Repeated._words(self, run, item)  # noqa: SLF001 - its own, one floor up
            if entry.by not in later
        ]

    def _lengths(self, run: Run, item: str) -> list[_Length]:
        """Each judge's latest length, where that is their latest word.

        Where no judge tapped both, one's begin and another's end are a length.
        """
        words: dict[PersonId, _Length | Entry] = {}
        begun: dict[PersonId, Entry] = {}
        last: Entry | None = None
        across: _Length | None = None
        for entry in run.seen.get(self.id, ()):
            what = entry.what
            if not isinstance(what, Moved | Measured | Mark) or what.item != item:
                continue
            if isinstance(what, Mark):
                words[entry.by] = entry
            elif entry.at < run.restarted:
                continue
            elif isinstance(what, Measured):
                words[entry.by] = _Length(what.amount, 0, (entry,))
            elif what.moment is Moment.BEGIN:
                begun[entry.by] = last = entry
            elif what.moment is Moment.END and entry.by in begun:
                words[entry.by] = self._tapped(begun.pop(entry.by), entry)
            elif what.moment is Moment.END and last is not None:
                across = self._tapped(last, entry)
        lengths = [word for word in words.values() if isinstance(word, _Length)]
        return lengths or ([across] if across is not None and not words else [])

    def _tapped(self, begun: Entry, ended: Entry) -> _Length:
        """A length by two taps; two tablets' clocks may be out against each other."""
        out = 0 if begun.by == ended.by else begun.off_by + ended.off_by
        return _Length(ended.at - begun.at, self.tolerance + out, (begun, ended))


HeldSchema.makes = Held
