"""A rulebook of our own with a rule of every kind, for whoever sets it on paper or keys it in."""

from typing import Final

RULEBOOK: Final = """
rulebook: night-camp
title: Setting up a night camp for a rescue team
edition: 7
cautions:
  - Nobody lifts the mast alone.
crew:
  size: 3
  roles: {lead: Leader, cook: Cook, hand: Hand}
posts:
  clock: {title: The clock, watches: 2}
  mast: {title: Mast and lines}
  stove: {title: Stove and stores}
givens:
  wind: {choices: [north, south]}
  mains: {number: V}
penalties:
  slip: {title: Something left out, seconds: 10}
  care: {title: Carelessness, seconds: 5, then: [10, 20]}
  grave: {title: Grave danger, disqualify: yes, seen-by: majority}
  loose: {title: Not put away, seconds: 2, per: item}
  far: {title: Out of place, seconds: 1, per: centimetre}
  late: {title: Over the time of a task, seconds: 1, per: second}
  gift: {title: Earned, seconds: 15}
clock:
  walkthrough: {limit: 5 min, over: {seconds: 10, per: minute}}
  run: {limit: 30 min, over: did not finish, ends: camp-ready, false-start: slip}
  official: {from: [slower of two, one watch], to: 0.1 s, round: up}
tasks:
  - task: up
    title: Raise the mast
    post: mast
    costs: slip
    in-order: yes
    rules:
      - {setting: wrench, text: The wrench of the anchors, value: 50 N·m, within: 4 %, tries: 2}
      - {step: dig, do: Dig the anchors in, by: hand, times: 4}
      - step: look
        do: Look the mast over
        by: lead
        points: [foot, joints, head]
      - {callout: heave, say: Heave, by: lead, before: raise}
      - {step: raise, do: Raise the mast, when: {wind: north}}
      - {crew: many, text: All hands on the mast while it rises, at-least: 3}
      - {held: rest, do: Let the mast rest, at-least: 5 s, each: [first guy, second guy]}
      - {placement: foot-place, text: The foot stands on its mark, free: 2, costs: far}
      - {placement: stays, text: Each stay is inside its ring, each: [left, right]}
  - task: stove
    title: Light the stove
    post: stove
    costs: slip
    rules:
      - reading: mains-read
        text: The voltage of the mains
        number: V
        reference: mains
        within: 2 %
        by: cook
      - {reading: phases, text: The phases, number: V, each: [L1, L2, L3], at-least: 1 V}
      - derived: even
        text: The unbalance of the phases
        value: unbalance
        of: phases
        at-most: 2 %
      - {reading: gas, text: The kind of gas, choices: [propane, butane], reference: propane}
      - {reading: signed, text: Signed for the gas, written: signature}
      - {correctable: lid, text: The lid is left open, judge-did: care}
      - limit: stove-time
        text: The stove takes at most eight minutes
        task: stove
        time: 8 min
        costs: late
rules:
  - conduct: gloves
    text: Gloves on whoever handles a line
    during: up
    post: [mast, stove]
    costs: care
    charge: person
  - {conduct: under, text: Nobody stands under the mast, post: [mast, stove], costs: grave}
  - {conduct: shout, text: Nobody shouts, post: stove, costs: care, latch: the crew is quiet again}
  - {returns: pegs, text: Every peg is back in the bag, post: stove, costs: loose}
  - {bonus: flag, text: A flag flies from the mast, post: [mast, stove], gives: gift}
  - {ender: fire, text: A fire outside the stove, post: stove, ends: disqualified}
  - {callout: camp-ready, say: Camp ready, by: lead, post: [clock, stove], costs: slip}
ties:
  - fewer: findings
"""
#: What somebody might write into a rulebook: markup, formulas, other scripts, pictures, long words.
HOSTILE: Final = (
    "#panic($ \\ *bold* _it_ @ref <label> `raw` // no /* comment = head - item",
    'quotes " and \\" and \\u{202e} and #import "x.typ"',
    "סימן בטיחות: #כלום $x^2$ לא זזים",
    "سلامة الفريق أولاً، ثم العمل #if",
    "🧗🔥 縄を引く前に声をかける",
    "=HYPERLINK(1) {{7*7}} <script>alert(1)</script> %s &amp;",
    "long" * 500,
    "many words " * 180,
)


def hostile(text: str) -> str:
    """The same rulebook, in which every title, text, note, item and role says this."""
    quoted = "'" + text.strip()[:2_000].replace("'", "''") + "'"
    short = "'" + text.strip()[:70].replace("'", "''") + "'"
    title = "'" + text.strip()[:190].replace("'", "''") + "'"
    return f"""
rulebook: hostile
title: {title}
edition: 1
language: ar-EG
cautions: [{quoted}]
crew: {{size: 2, roles: {{lead: {quoted}}}}}
posts: {{north: {{title: {quoted}}}}}
penalties: {{slip: {{title: {quoted}, seconds: 5}}}}
tasks:
  - task: A
    title: {quoted}
    post: north
    costs: slip
    rules:
      - {{step: A1, do: {quoted}, by: lead, note: {quoted}}}
      - {{step: A2, do: {quoted}, each: [{short}, other]}}
      - {{callout: {"c" * 40}, say: {quoted}}}
      - {{reading: A3, text: {quoted}, choices: [{short}, other]}}
rules:
  - {{conduct: A4, text: {quoted}, post: north, costs: slip}}
  - {{returns: A5, text: {quoted}, post: north, costs: slip}}
"""


def many(rules: int) -> str:
    """A rulebook of one post with so many rules, one of them longer than a page."""
    steps = "\n".join(
        f"      - {{step: S{n}, do: Step {n} of many, by: hand}}" for n in range(1, rules)
    )
    return f"""
rulebook: many
title: Many steps
edition: 2
cautions: Local rules come first.
crew: {{size: 1, roles: {{hand: Hand}}}}
posts: {{north: {{title: North}}}}
penalties: {{slip: {{seconds: 5}}}}
tasks:
  - task: A
    title: All of it
    post: north
    costs: slip
    rules:
      - {{step: long, do: Sixty of them, each: [{", ".join(f"piece {n}" for n in range(1, 61))}]}}
{steps}
"""
