"""A held duration: an action that must last at least, or at most, so long."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from scoring.entries import Entry, Mark, Measured, Moment, Moved, Observation, Outcome
from scoring.fields import Duration, Name, Text, YesNo
from scoring.fold import Run
from scoring.ids import EntryId
from scoring.kinds.base import Control, Failure, Fault, Question, RuleSchema, Terms, failure_id
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

    def takes(self, said: Observation) -> bool:
        """The two taps, a count, or a mark that it was not done."""
        if not isinstance(said, Moved | Measured | Mark) or said.item not in self.items:
            return False
        return not isinstance(said, Moved) or said.moment in {Moment.BEGIN, Moment.END}

    def questions(self, run: Run) -> Iterator[Question]:
        """The items without a length or a word."""
        for question in Repeated.questions(self, run):
            if self._length(run, question.item) is None:
                yield question

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """What was not done at all, and what lasted too short or too long."""
        yield from Repeated.failures(self, run, terms)
        for item in self.items:
            length = self._length(run, item)
            if length is None:
                continue
            lasted, slack, at, ids = length
            early = self.at_least - lasted
            late = lasted - self.at_most if self.at_most is not None else 0
            if max(early, late) > slack:
                yield Failure(
                    id=failure_id(self.id, item, why="length"),
                    rule=self.id,
                    fault=Fault.TOO_SHORT if early > slack else Fault.TOO_LONG,
                    costs=self.costs,
                    item=item,
                    at=at,
                    margin=max(early, late),
                    stands_on=ids,
                    proposed=slack > 0 and not self.at_once,
                )

    def _length(self, run: Run, item: str) -> tuple[int, int, int, tuple[EntryId, ...]] | None:
        """How long, how far that may be out, since when, on which entries; a count before taps."""
        about = [
            entry
            for entry in run.seen.get(self.id, ())
            if isinstance(entry.what, Moved | Measured) and entry.what.item == item
        ]
        counts = [entry for entry in about if isinstance(entry.what, Measured)]
        if counts and isinstance(counts[-1].what, Measured):
            return counts[-1].what.amount, 0, counts[-1].at, (counts[-1].id,)
        begun = _last(about, Moment.BEGIN)
        ended = _last(about, Moment.END)
        if begun is None or ended is None or ended.at < begun.at:
            return None
        out = 0 if begun.by == ended.by else begun.off_by + ended.off_by
        return ended.at - begun.at, self.tolerance + out, begun.at, (begun.id, ended.id)


def _last(entries: list[Entry], moment: Moment) -> Entry | None:
    found = [e for e in entries if isinstance(e.what, Moved) and e.what.moment is moment]
    return found[-1] if found else None


HeldSchema.makes = Held
