"""The kinds of rules, each in a file of its own. A new kind is a new file and a line here."""

from typing import Final

from scoring.kinds.base import Rule
from scoring.kinds.bonus import Bonus
from scoring.kinds.callout import Callout
from scoring.kinds.conduct import Conduct
from scoring.kinds.correctable import Correctable
from scoring.kinds.crew import MinimumCrew
from scoring.kinds.derived import Derived
from scoring.kinds.ender import Ender
from scoring.kinds.held import Held
from scoring.kinds.limit import Limit
from scoring.kinds.placement import Placement
from scoring.kinds.reading import Reading
from scoring.kinds.returns import Returns
from scoring.kinds.setting import Setting
from scoring.kinds.step import Step

#: The key that names a rule of each kind, and the kind, in the order of the reference.
KINDS: Final[dict[str, type[Rule]]] = {
    kind.kind: kind
    for kind in (
        Step,
        Callout,
        Held,
        MinimumCrew,
        Conduct,
        Correctable,
        Placement,
        Setting,
        Reading,
        Derived,
        Returns,
        Limit,
        Bonus,
        Ender,
    )
}
