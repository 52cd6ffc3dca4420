"""The kinds of rules, each in a file of its own. A new kind is a new file and a line here."""

from typing import Final

from scoring.kinds.base import Rule
from scoring.kinds.callout import Callout
from scoring.kinds.conduct import Conduct
from scoring.kinds.returns import Returns
from scoring.kinds.step import Step

#: The key that names a rule of each kind, and the kind, in the order of the reference.
KINDS: Final[dict[str, type[Rule]]] = {
    kind.kind: kind for kind in (Step, Callout, Conduct, Returns)
}
