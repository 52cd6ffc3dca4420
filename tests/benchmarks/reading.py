"""Reading a rulebook of 400 rules beside parsing its YAML bare.

Run `python -m tests.benchmarks.reading`. The floor is `yaml.compose` with libyaml's loader: the
nodes alone, with their places in the file, which any reader that names lines must make.
"""

import time
from collections.abc import Callable
from typing import Final

import yaml

from scoring import read_rulebook

RULES: Final = 400
_TASKS: Final = 20
_TIMES: Final = 15
_HEAD: Final = """rulebook: long-day
title: A long day
edition: 1
result: time
cautions: These are contest rules, no work procedure. Local rules come first.
crew: {size: 4, roles: {lead: Lead, rigger: Rigger, fitter: Fitter, electrician: Electrician}}
posts:
  clock: {title: Timekeeping, watches: 3}
  power: {title: Isolation and meter}
  lift: {title: Rigging and lift}
  bench: {title: Bench and cleanup}
givens:
  supply: {number: V}
  side: {choices: [uphill, downhill]}
penalties:
  procedure: {title: Procedure, seconds: 10}
  words: {title: Words, seconds: 5}
  record: {title: Record, seconds: 5, then: [10, 20]}
  returns: {title: Returns, seconds: 5, per: item, cap: 60}
  safety: {title: Safety, seconds: 30, then: [60, disqualify], severity: safety}
clock:
  walkthrough: {limit: 6 min, over: {seconds: 10, per: minute}}
  run: {limit: 90 min, over: {seconds: 1, per: second}}
  official: {from: [middle of three, slower of two], to: 0.1 s, round: up}
order: {tolerance: 3 s, costs: procedure}
ties: [{fewer: safety}, {less: time}]
"""
#: Twenty rules of every day, as a task of a long procedure has them; {n} is the task's number.
_TASK: Final = """  - task: T{n}
    title: Part {n}
    post: lift
    costs: procedure
    in-order: yes
    rules:
      - {{callout: ask-{n}, say: "Part {n}, ready", by: lead, costs: words, before: s{n}-1}}
      - {{step: s{n}-1, do: "Look over each piece of gear of part {n}", by: rigger, each: [one, two, three]}}
      - {{step: s{n}-2, do: Hang the hoist of part {n}, by: rigger, takes: 40 s}}
      - {{step: s{n}-3, do: Close its latch, by: rigger, note: A latch that is not seen shut is open.}}
      - {{step: s{n}-4, do: Check part {n}, by: lead, points: [latch, sling, hook, anchor]}}
      - {{callout: good-{n}, say: "Part {n} good", by: [rigger, fitter], each: [rigger, fitter], costs: words}}
      - {{step: s{n}-5, do: Hang your own lock, by: electrician, costs: safety}}
      - {{reading: r{n}-1, text: Volts before part {n}, number: V, reference: supply, within: 2 %, each: [L1, L2, L3], post: power, costs: record}}
      - {{derived: d{n}, text: Unbalance before part {n}, value: unbalance, of: r{n}-1, at-most: 1 %, post: power, costs: record}}
      - {{setting: w{n}, text: The wrench of part {n}, value: 60 N·m, within: 4 % of reading, tries: 2, post: bench}}
      - {{step: s{n}-6, do: Tighten the bolts of part {n} crosswise, by: fitter, times: 8, charge: once, post: bench}}
      - {{held: h{n}, do: Wait for part {n} to settle, at-least: 5 s, by: fitter}}
      - {{step: s{n}-7, do: Turn it by hand, by: fitter, when: {{side: uphill}}}}
      - {{step: s{n}-8, do: Turn it by hand, by: rigger, when: {{side: downhill}}}}
      - {{crew: c{n}, text: Three people carry part {n}, at-least: 3}}
      - {{reading: r{n}-2, text: Initials for part {n}, written: initials, post: bench, costs: record, missing: procedure}}
      - {{step: s{n}-9, do: Sign for part {n}, by: lead, post: bench, costs: record}}
      - {{conduct: k{n}, text: "Gloves on in part {n}", during: T{n}, costs: safety, charge: person}}
      - {{conduct: l{n}, text: No hand under part {n}, from: s{n}-2, until: s{n}-9, costs: safety}}
      - {{returns: b{n}, text: Tools of part {n} are back, post: bench, costs: returns}}
"""  # noqa: E501 - a rule a line, as in any rulebook


def rulebook() -> bytes:
    """A rulebook of so many rules."""
    return (_HEAD + "tasks:\n" + "".join(_TASK.format(n=n) for n in range(1, _TASKS + 1))).encode()


def main() -> None:
    """Print the ratio."""
    content = rulebook()
    rules = len(read_rulebook(content).rules)
    assert rules == RULES, rules
    ours = _least(lambda: read_rulebook(content))
    loader = yaml.CSafeLoader
    floor = _least(lambda: yaml.compose(content, Loader=loader))
    print(f"reading a rulebook of {rules} rules, {len(content):,} bytes: {ours * 1e3:.1f} ms,")
    print(f"  its YAML bare {floor * 1e3:.1f} ms: ratio {ours / floor:.2f}")


def _least(work: Callable[[], object]) -> float:
    """The least processor time of some turns: what the work costs when nothing disturbs it."""
    times = []
    for _ in range(_TIMES):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


if __name__ == "__main__":
    main()
