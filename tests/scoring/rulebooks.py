"""A rulebook that uses every kind of rule and every way to write it; a scenario of our own."""

from typing import Final

from tests.scoring.builders import rulebook_text

EVERY_KIND: Final = rulebook_text(
    title="Mast on the roof",
    crew="{size: 4, roles: {lead: Crew lead, rigger: Rigger, electrician: Electrician}}",
    posts="{roof: {title: Roof}, ground: {title: Ground and gear}}",
    penalties="""
  slip: {seconds: 5}
  safety: {seconds: 30, then: [60, disqualify], severity: safety, title: Safety on the roof}
  gear: {seconds: 2, per: item, cap: 10}
  off: {seconds: 1, per: centimetre}
  late: {seconds: 1, per: second}""",
    order="{costs: slip}",
    givens="{side: {choices: [north, south]}, mains: {number: V}}",
    clock="{run: {limit: 20 min, warn: 1 min, over: late, false-start: {seconds: 0, then: 10}}}",
    blocks="""
  guy:
    - {step: fix, do: Fix the <side> guy, by: rigger}
    - {callout: said, say: <Side> fixed, by: rigger, after: fix}""",
    tasks="""
  - task: A
    title: Make ready
    post: ground
    costs: slip
    rules:
      - {step: test, do: Prove the line dead, by: electrician, costs: safety, takes: 40 s}
      - step: lock
        do: Hang your own lock
        by: [lead, rigger, electrician]
        each: [lead, rigger, electrician]
        last: electrician
        after: {rules: test, costs: safety, at-once: yes}
        charge: once
      - {step: pegs, do: Drive the pegs, by: rigger, times: 4, wrong: {seconds: 2}}
      - {callout: dead, say: Dead, by: electrician, after: test, before: sling}
      - {held: blow, do: Blow the pipe free, at-least: 5 s, at-most: 1 min 30 s, tolerance: 1 s}
      - {held: press, do: Press the patch down, at-least: 4 s, at-once: yes}
      - {setting: wrench, text: The wrench, value: 60 N·m, within: 4 %, tries: 2}
      - {reading: volts, text: The mains, number: V, reference: mains, within: 2 %}
      - {reading: phases, text: The phases, number: V, each: [one, two, three], at-least: 1 V}
      - {derived: even, text: The unbalance, value: unbalance, of: phases, at-most: 2 %}
      - {limit: soon, text: Ready soon, task: A, time: 4 min, warn: [1 min, 30 s], costs: late}
  - task: B
    title: Raise the mast
    post: roof
    costs: slip
    rules:
      - {use: guy, as: left, with: {side: left, Side: Left}}
      - {use: guy, as: right, with: {side: right, Side: Right}}
      - {step: sling, do: Lay the sling, points: [flat, not twisted], after: [left, right]}
      - {step: shade, do: Shade the lamp, when: {side: south}, note: A hand is no shade.}
      - {crew: carry, text: Three carry the mast, at-least: 3, costs: safety}
      - {correctable: end, text: A rope end hangs over, tries: 2, corrected: {seconds: 1}}
      - {placement: foot, text: The foot is on its cross, free: 2, costs: off}
      - placement: lamp
        text: The lamp faces its mark
        at: start
        bands: [{over: 0, costs: {seconds: 1}}, {over: 5, costs: slip}]
      - {limit: raise, text: Up in time, task: B, from: carry, time: 1 min, cut: yes}
rules:
  - {conduct: gloves, text: Gloves stay on, post: [roof, ground], costs: slip, charge: person}
  - {conduct: hose, text: No hose lies about, post: ground, costs: slip, latch: it is away}
  - {conduct: hands, text: Hands off the wire, post: ground, costs: safety, until: test}
  - {conduct: talk, text: Nobody helps, post: roof, costs: slip, during: run, charge: once}
  - {ender: fall, text: Somebody falls, post: roof, ends: disqualified}
  - {ender: stops, text: The crew gives up, post: ground, ends: did not finish}
  - {bonus: tidy, text: All is swept, post: ground, gives: {seconds: 10}}
  - {returns: tools, text: Every tool is back, post: ground, costs: gear}
  - {returns: kit, text: The kit is whole, post: ground, costs: gear, each: [pliers, tape]}""",
    rules=None,
)
